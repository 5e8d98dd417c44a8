"""One household (or one scripted conversation) between messages: plan, log, conversation, and what is written.

Channels talk to a Session and to nothing below it. Where records are given, everything written is on the disk before
the reply leaves; without one nothing is kept. Several processes may answer one household, and one conversation: a
message is answered from what the records held at its beginning; where another wrote in between, it is answered anew.
"""

from __future__ import annotations

import hashlib
import threading
from contextlib import AbstractContextManager, nullcontext
from datetime import UTC, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, Any

from assistant import dialogue
from assistant.answer import answer, new_tracker
from assistant.hear.plain import readable
from assistant.household.care_plan import CarePlan, warnings
from assistant.household.unreadable import HouseholdUnreadable
from assistant.message import Message, Reply
from assistant.moment import NoSuchNow as NoSuchNow
from assistant.moment import instant as instant
from assistant.night import Night
from assistant.wording import asking
from knowledge.library import table
from rules.feed_state import Event

if TYPE_CHECKING:  # the records load sqlite-utils: only a household needs them
    from assistant.household.kept import Kept

CLOCK_BACK = timedelta(minutes=5)  # an entry told later than now by more than this: the clock was set back
WAITS = (False, False, True)  # for each try: are the others kept waiting meanwhile? Twice overtaken, then they are


class Overtaken(Exception):
    """Another process wrote to the log or to this conversation since they were read; nothing was written here."""


class Session:
    """A conversation with one household. `kept` holds its records; without them everything lives in memory.

    Records that cannot be read or written cost no answer: `fault` then says what is wrong, and so does each reply.
    """

    def __init__(
        self,
        plan: CarePlan | None,
        events: tuple[Event, ...] = (),
        kept: Kept | None = None,
        sender: str = "household",
        now: datetime | None = None,
        unusable: HouseholdUnreadable | None = None,
        travels: bool = False,
    ) -> None:
        self.travels = travels  # the conversation comes with each message: the records keep none
        self.unusable = unusable  # the records are damaged: they are neither read nor written to
        self.plan, self.events, self.kept = plan, events, kept
        self.reminders: tuple[dict[str, str], ...] = ()
        self.tracker = new_tracker(sender)
        self.fault: HouseholdUnreadable | None = None
        self.busy = threading.RLock()  # a channel that rings while it waits takes turns with itself
        self._known: tuple[int, int] | None = None  # the marks of the log and of the conversation as they are here
        self._refresh(now or datetime.now(UTC))

    def say(self, text: str, now: datetime, request: str | None = None, card: str | None = None) -> dict[str, Any]:
        """Answer one message; what it writes down is on the disk before this returns.

        A `request` that was answered before, in the same words, gets the same answer again, and writes nothing.
        `card`: see Message.
        """
        if request is not None:  # the same number with other words is another request
            request = f"{request}:{hashlib.sha256(text.encode('utf-8', 'surrogatepass')).hexdigest()[:16]}"
        message = Message(readable(text), now, card)
        before = (self.tracker.slots[dialogue.SLOT], self.events, self.reminders, self._known)
        for waits in WAITS:
            try:
                with self._others_waiting(waits):
                    return self._turn(message, request)
            except Overtaken:
                pass
            except HouseholdUnreadable as fault:  # while the others were to be kept waiting: nothing was written
                self.fault, before = fault, (*before[:3], None)
            self.tracker.slots[dialogue.SLOT], self.events, self.reminders, self._known = before
        return self._turn(message, request, unread=self.fault)

    def _turn(
        self, message: Message, request: str | None, unread: HouseholdUnreadable | None = None
    ) -> dict[str, Any]:
        """Answer from what the records hold now. Raises Overtaken where it is not written because that has changed."""
        now = message.now
        if unread is None:
            if (before := self._answered(request)) is not None:
                return before
            self._refresh(now)
            unread = self.fault
        reply = answer(message, Night(self.plan, now, self.events, self.reminders), self.tracker)
        record = self._remarked(reply.record, now)
        if unread is None:
            self._write(reply, record, now, request)
        if self.fault is not None:
            return self._not_kept(record, bool(reply.events))
        return record

    def _others_waiting(self, waits: bool) -> AbstractContextManager[Any]:
        return self.kept.at_once() if waits and self.kept is not None else nullcontext()

    def night(self, now: datetime) -> Night:
        """Plan, log and reminders as they stand: what a channel shows beside the talk."""
        self._refresh(now)
        return Night(self.plan, now, self.events, self.reminders)

    def talk(self, now: datetime) -> dialogue.Talk:
        """What the conversation remembers: the last reply, and the walk-through that is on."""
        return dialogue.talk_of(self.tracker, now)

    def due(self, now: datetime) -> tuple[dict[str, str], ...]:
        """The reminders that are due and were not said yet."""
        if self.kept is not None and self.unusable is None:
            self.reminders = self.kept.reminders(self._zone)
        return tuple(r for r in self.reminders if datetime.fromisoformat(r["due"]) <= now)

    def rang(self, reminder: dict[str, str], now: datetime) -> bool:
        """A reminder was said: it is not said again, after a restart neither. False where another was first."""
        first = self.kept is None or self.kept.close_reminder(reminder["id"], now)
        self.reminders = tuple(r for r in self.reminders if r != reminder)
        return first

    def worded(self, words: str, at: datetime, what: str, now: datetime, aloud: bool = False) -> str:
        """A line about a reminder, its time as this household reads clocks, or as it is said."""
        from assistant.word import Facts

        facts = Facts(Night(self.plan, now), {"at": at, "what": what})
        return facts.speech(words) if aloud else facts.text(words)

    @property
    def _zone(self) -> tzinfo:
        return self.plan.timezone if self.plan else UTC

    def _refresh(self, now: datetime) -> None:
        """Read what another program (or nobody yet) wrote: the log, the conversation, or neither."""
        if self.kept is None:
            return
        if self.unusable is not None:
            self.fault = self.unusable
            return
        try:
            marks = self.kept.marks(self.tracker.sender_id)  # first: what changes from here on is noticed later
            log, talk = self._known or (None, None)
            if marks[0] != log:
                self.events, self.reminders = self.kept.events(now, self._zone), self.kept.reminders(self._zone)
            if marks[1] != talk and not self.travels:
                found = self.kept.conversation(self.tracker.sender_id)
                self.tracker.slots[dialogue.SLOT] = found if dialogue.reads_back(found) else None
            self._known, self.fault = marks, None
        except HouseholdUnreadable as fault:
            self.fault = fault

    def _answered(self, request: str | None) -> dict[str, Any] | None:
        if self.kept is None or request is None:
            return None
        try:
            found = self.kept.answered(request)
        except HouseholdUnreadable:
            return None  # said by the reply to come
        if found is not None and self.travels:
            self.tracker.slots[dialogue.SLOT] = found.pop(dialogue.SLOT, None)
        return found

    def _remarked(self, record: dict[str, Any], now: datetime) -> dict[str, Any]:
        """The reply with what the plan's dates and the clock call for."""
        lines = []
        if self.plan is not None and record["outcome"] == "answered" and record["level"] not in ("emergency", "urgent"):
            lines = self._warnings(now)
        told = self.kept.told_last() if self.kept is not None else None
        if told is not None and told > now + CLOCK_BACK and record["outcome"] in ("answered", "done"):
            words = table("sentences_en")["records"]["clock_back"]
            then = f"{told.astimezone(now.tzinfo):%Y-%m-%d %H:%M}"
            lines.append(words.format(told=then, now=f"{now:%Y-%m-%d %H:%M}"))
        return {**record, "text": "\n".join([record["text"], *lines])}

    def _warnings(self, now: datetime) -> list[str]:
        assert self.plan is not None
        from assistant.wording.show import show

        words = {"past_review": "review_past", "not_yet_issued": "not_yet_issued"}
        facts = {"review_by": show(self.plan.review_by, now), "issued": show(self.plan.issued, now)}
        return [table("sentences_en")[words[code]].format(**facts) for code in warnings(self.plan, now.date())]

    def _write(self, reply: Reply, record: dict[str, Any], now: datetime, request: str | None) -> None:
        """Everything that one message writes, in one transaction; in memory only what is on the disk."""
        entries, talk, sender = list(reply.events), self.tracker.slots[dialogue.SLOT], self.tracker.sender_id
        if self.kept is not None:
            try:
                with self.kept.at_once():
                    if self.kept.marks(sender) != self._known:
                        raise Overtaken
                    entries = [self.kept.write(entry, now) for entry in entries]
                    if not self.travels:
                        self.kept.keep_conversation(sender, talk, now)
                    if request is not None and not asking.is_fault(record):  # sent again, it may be answered
                        self.kept.keep_answer(request, {**record, dialogue.SLOT: talk} if self.travels else record, now)
                    self._known = self.kept.marks(sender)
            except HouseholdUnreadable as fault:
                self.fault, self._known = fault, None
                return
        for entry in entries:
            self._apply(entry)

    def _not_kept(self, record: dict[str, Any], wrote: bool) -> dict[str, Any]:
        """The answer all the same, with what is wrong; never "written down" of what is not."""
        words = table("sentences_en")["records"]
        if not wrote:
            return {**record, "text": "\n".join([record["text"], words["from_plan_alone"].format(fault=self.fault)])}
        told = [r["text"] for r in (record, *record.get("also", ())) if r["outcome"] not in ("done",)]
        text = "\n".join([words["not_written"].format(fault=self.fault), *told])
        return {**record, "outcome": "declined", "text": text, "speech": words["not_written_speech"]}

    def _apply(self, entry: dict[str, Any]) -> None:
        """One written entry: a feed event, its undoing or correction, or a reminder."""
        kind = entry["write"]
        if kind in ("undo", "correct"):
            old = entry["event"] if kind == "undo" else entry["old"]
            self.events = tuple(e for e in self.events if e is not old and e != old)
        if kind in ("event", "correct"):
            self.events = (*self.events, entry["event"])
        elif kind == "reminder":
            self.reminders = (*self.reminders, entry["reminder"])
        elif kind == "cancel":
            self.reminders = tuple(r for r in self.reminders if r != entry["reminder"])
