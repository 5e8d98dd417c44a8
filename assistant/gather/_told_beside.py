"""What a message tells of the feed of the log beside its question ("we put it to 55 at midnight, how much is in?").

It counts in the sum as if it stood in the log, so that the time before it counts too; it is not written down. Without
this a rate told with its hour stood for the whole night, or the hour for the feed's own start.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta

from assistant.clauses.told_beside import OF_THE_RUN, parted
from assistant.gather._restart import BACK_ON
from assistant.hear import hear
from assistant.message import Reading
from assistant.night import Night
from assistant.numbers.said import Said, Spoken, said
from assistant.numbers.wants import Ask, Used, measure
from assistant.slots import Slots
from assistant.told.act_times import done
from assistant.told.acts import acts_told
from rules.feed_state import Event
from rules.log_order import misfit
from rules.quantity import Quantity

CHANGES = frozenset({"rate_changed", "paused", "resumed"})
SUPPOSED = ("if", "suppose", "supposing", "say", "what about", "should", "would", "going to", "gonna", "want to")
SAME = timedelta(minutes=10)  # told a little otherwise than it was logged
BEFORE = re.compile(
    r"\b(?:before (?:that|then|this)|(?:un)?till? (?:then|that)|up to (?:then|that)|(?:it )?was(?: on| at)?)\b"
)
UNTIL, THEN = re.compile(r"\b(?:un)?till?$|\bup to$"), re.compile(r"^(?:and|then|after)\b|\b(?:then|since|after)\b")


def count_told(slots: Slots, name: str) -> None:
    """The log with what is told beside the question, for this sum alone; as it was where nothing of the kind is."""
    night, state = slots.night, slots.night.state
    if name not in OF_THE_RUN or slots.carried or state is None or state.started is None or state.stopped_at:
        return
    if slots.said.has(*SUPPOSED):
        return
    first, told, _ = parted(slots.said)
    own = [s for s in slots.said.spoken if first <= s.amount.start < first + len(told.heard.tokens)]
    before, told = _rate_before(told)
    events = _events(told, night)
    fresh = [e for e in events if not _known(e, night)]
    if not events or not _fit(fresh, night):
        return
    if before is not None and not _ran_at(before, events, night):
        raise Ask("which_number", code="unclaimed", numbers=before.amount.text)  # the log has another rate before it
    for spoken in own:
        slots.spoken[f"told_{spoken.amount.start}"] = spoken
    changed = [e.rate for e in events if e.rate is not None]
    if changed:
        slots.used["new_rate"] = Used(changed[-1], "question", ", ".join(s.amount.text for s in own))
    if fresh:
        slots.night = replace(night, events=(*night.events, *fresh))
        slots.remarks.append("counted_as_told")


def since_later(slots: Slots, since: datetime | None, *, whole: bool = False) -> None:
    """Ask, where a rate is told from a time on before which the feed of the log ran at another: for how long, then?

    `whole`: a whole feed would be counted from that time ("off from eleven till right now, will she have it all?").
    """
    state, rate, start = slots.night.state, slots.spoken.get("rate"), slots.spoken.get("start")
    if since is None or start is None or state is None or not state.running or state.started is None:
        return
    if not state.started + SAME < since <= slots.night.now:
        return
    if rate is not None and state.rate != slots.used["rate"].value:
        raise Ask("which_number", code="unclaimed", numbers=f"{rate.amount.text}, {start.amount.text}")
    if rate is None and whole and not slots.said.has(*BACK_ON):
        raise Ask("which_number", code="unclaimed", numbers=start.amount.text)


def began_before(slots: Slots, since: datetime | None) -> bool:
    """Was the hour of a change, told before, kept as a start ("85 from nine", "and it ends?")? The log knows more."""
    state = slots.night.state
    if since is None or "start" in slots.spoken or "start" not in slots.carried or state is None:
        return False
    if not state.running or state.started is None or not state.started + SAME < since <= slots.night.now:
        return False
    changed = any(e.kind in CHANGES and abs(e.at - since) <= SAME for e in slots.night.events)
    if changed:
        slots.used.pop("start", None)
    return changed


def _rate_before(told: Said) -> tuple[Spoken | None, Said]:
    """ "..., before that 58 it was": the rate before the change, and the rest of what is told."""
    if (then := _then_another(told)) is not None:
        return then
    pieces = re.split(r"\s*[,.;]\s*|\s+(?:and|but)\s+", told.heard.text)
    for piece in pieces:
        alone = said(hear(piece))
        plain = len(alone.spoken) == 1 and not alone.spoken[0].reading("clock")
        if plain and len(pieces) > 1 and BEFORE.search(piece) and alone.spoken[0].reading("number", "rate"):
            return alone.spoken[0], said(hear(", ".join(p for p in pieces if p is not piece)))
    return None, told


def _then_another(told: Said) -> tuple[Spoken, Said] | None:
    """ "It was 58 until midnight and 50 since": the rate before, and the change."""
    if len(told.spoken) != 3:
        return None
    one, at, other = told.spoken
    if not (one.reading("rate", "number") and at.reading("clock") and other.reading("rate", "number")):
        return None
    if not (UNTIL.search(at.before) and THEN.search(other.before)):
        return None
    return one, said(hear(f"rate {other.amount.text} since {at.amount.text}"))


def _ran_at(told: Spoken, events: list[Event], night: Night) -> bool:
    """Is the rate told for the time before what the log has for it?"""
    reading = told.reading("rate") or told.reading("number")
    before = replace(night, now=events[0].at - timedelta(minutes=1)).state
    if reading is None or before is None:
        return False
    return before.rate == _rate(reading, night)


def _rate(reading: Reading, night: Night) -> Quantity:
    found: Quantity = measure("rate", replace(reading, kind="rate", unit=reading.unit or "mL/h"), night)
    return found


def _events(told: Said, night: Night) -> list[Event]:
    """The changes of rate and the pauses told with their times; empty where anything else is told with them."""
    acts = acts_told(told)
    if not acts or any(act.now or not (act.timed or act.until) for act in acts):
        return []
    last = max((e.at for e in night.events), default=None)
    found = done(acts, night.now, True, last)
    events = [Event(o.at, o.kind, None, _rate(o.act.rate, night) if o.act.rate else None) for o in found]
    off = night.state is not None and night.state.paused_since is not None
    paused = sum(e.kind == "paused" for e in events) + off
    if off and _still_off(told):
        return []
    whole = paused == sum(e.kind == "resumed" for e in events) or all(e.kind == "rate_changed" for e in events)
    return events if whole and all(e.kind in CHANGES for e in events) else []


def _still_off(told: Said) -> bool:
    """Is it told to be off, and not on again?"""
    return bool(HELD.search(told.lower))


HELD = re.compile(r"\b(?:on hold|paused|stopped|off|switched off|not running) since\b")


def _known(event: Event, night: Night) -> bool:
    same = (e for e in night.events if e.kind == event.kind and e.rate == event.rate)
    return any(abs(e.at - event.at) <= SAME for e in same)


def _fit(fresh: list[Event], night: Night) -> bool:
    log = night.events
    for event in fresh:
        if misfit(log, event, **night.plan_of_feed(event.at)) is not None:
            return False
        log = (*log, event)
    return True
