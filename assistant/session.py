"""One household (or one scripted conversation) between messages: plan, log, conversation, and what is written.

Channels talk to a Session and to nothing below it. Where records are given, everything written is on the disk before
the reply leaves; without one nothing is kept.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

from assistant import dialogue
from assistant.answer import answer, new_tracker
from assistant.hear.plain import readable
from assistant.household.care_plan import CarePlan, warnings
from assistant.household.plan_faults import Wrong
from assistant.household.plan_times import in_zone
from assistant.message import Message
from assistant.night import Night
from knowledge.library import table
from rules.feed_state import Event

if TYPE_CHECKING:  # the records load sqlite-utils: only a household needs them
    from assistant.household.kept import Kept


class NoSuchNow(ValueError):
    """A `now` that cannot be read, that the zone's clocks skip, or that they show twice."""


def instant(text: str | None, plan: CarePlan | None, *, twice_is_first: bool = False) -> datetime:
    """The instant at which a message counts. None is this moment; without an offset it is the plan's local time.

    Raises NoSuchNow. A local time that exists twice (clocks go back) is refused, or taken as the first where the
    caller says so (scripted conversations).
    """
    lines = table("sentences_en")["now"]
    zone: Any = plan.timezone if plan else datetime.now().astimezone().tzinfo
    if text is None:
        return datetime.now(zone)
    try:
        given = datetime.fromisoformat(text)
    except ValueError:
        raise NoSuchNow(lines["unreadable"].format(found=text[:60])) from None
    if given.tzinfo is not None:
        return given.astimezone(zone)
    if not isinstance(zone, ZoneInfo):
        return given.replace(tzinfo=zone)
    try:
        return in_zone(given, zone)
    except Wrong as fault:
        first, second = given.replace(tzinfo=zone, fold=0), given.replace(tzinfo=zone, fold=1)
        skipped = (
            first.utcoffset() is not None
            and first.astimezone(ZoneInfo("UTC")).astimezone(zone).replace(tzinfo=None) != given
        )
        if not skipped and twice_is_first:
            return first
        words = lines["skipped" if skipped else "twice"]
        raise NoSuchNow(
            words.format(found=text[:60], zone=zone.key, first=first.isoformat(), second=second.isoformat())
        ) from fault


class Session:
    """A conversation with one household. `kept` holds its records; without them everything lives in memory."""

    def __init__(
        self,
        plan: CarePlan | None,
        events: tuple[Event, ...] = (),
        kept: Kept | None = None,
        sender: str = "household",
        now: datetime | None = None,
    ) -> None:
        self.plan, self.events, self.kept = plan, events, kept
        self.reminders: tuple[dict[str, str], ...] = ()
        self.tracker = new_tracker(sender)
        if kept is not None:
            zone = plan.timezone if plan else UTC
            self.events, self.reminders = kept.events(now or datetime.now(UTC), zone), kept.reminders(zone)
            self.tracker.slots[dialogue.SLOT] = kept.conversation(sender)

    def say(self, text: str, now: datetime) -> dict[str, Any]:
        """Answer one message; what it writes down is kept before this returns."""
        night = Night(self.plan, now, self.events, self.reminders)
        reply = answer(Message(readable(text), now), night, self.tracker)
        for entry in reply.events:
            self._keep(entry, now)
        record = reply.record
        if self.plan is not None and record["outcome"] == "answered" and record["level"] not in ("emergency", "urgent"):
            record["text"] = "\n".join([record["text"], *self._warnings(now)])
        if self.kept is not None:
            self.kept.keep_conversation(self.tracker.sender_id, self.tracker.slots[dialogue.SLOT], now)
        return record

    def _warnings(self, now: datetime) -> list[str]:
        assert self.plan is not None
        from assistant.show import show

        words = {"past_review": "review_past", "not_yet_issued": "not_yet_issued"}
        facts = {"review_by": show(self.plan.review_by, now), "issued": show(self.plan.issued, now)}
        return [table("sentences_en")[words[code]].format(**facts) for code in warnings(self.plan, now.date())]

    def _keep(self, entry: dict[str, Any], now: datetime) -> None:
        """Apply one written entry: a feed event, its undoing, or a reminder."""
        if self.kept is not None:
            entry = self.kept.write(entry, now)
        kind = entry["write"]
        if kind == "event":
            self.events = (*self.events, entry["event"])
        elif kind == "undo":
            self.events = tuple(e for e in self.events if e is not entry["event"] and e != entry["event"])
        elif kind == "reminder":
            self.reminders = (*self.reminders, entry["reminder"])
        elif kind == "cancel":
            self.reminders = tuple(r for r in self.reminders if r != entry["reminder"])
