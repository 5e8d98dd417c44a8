"""When a feed starts, by the words, the clock or the plan; and what time it is."""

from __future__ import annotations

import re
from datetime import datetime

from assistant.hear.clock import resolve
from assistant.household.care_plan import Feed
from assistant.message import Reading
from assistant.night import feed_time
from assistant.slots import Slots
from assistant.wants import Used
from rules.clock import before, later
from rules.quantity import qty

AHEAD = qty(1, "h")  # so far ahead of the clock no one says that it has begun

JUST_NOW = (
    r"just (?:now )?(?:started|hung|put|connected|hooked|gone|turned|set)",
    r"starting now",
    r"start(?:ed)? now",
    r"right now",
    r"from now",
    r"starting it now",
    r"going up now",
    r"hanging now",
    r"this minute",
)


BEGUN = re.compile(
    r"\b(?:opened|started|began|begun|hung|connected|spiked|kicked off|set off|went (?:on|up)|was on)\b[^.?!]*$"
)
SUPPOSED = (r"if", r"suppose", r"supposing", r"say", r"will", r"would", r"should", r"have to", r"tomorrow")


def _has_begun(slots: Slots, when: str) -> bool:
    """ "Opened at five past five", said before midnight: told as past, though the nearest such time is yet to come."""
    spoken, reading = slots.spoken.get("start"), slots.get("start")
    if spoken is None or not isinstance(reading, Reading) or slots.day("start") or slots.said.has(*SUPPOSED):
        return False
    near = resolve(reading, slots.night.now, when, None)[0]
    return bool(BEGUN.search(spoken.before)) and before(later(slots.night.now, AHEAD), near)


def start(slots: Slots, *, when: str = "nearest") -> datetime | None:
    """The start said; "just started" and "starting now" are now."""
    found = slots.instant("start", "past" if _has_begun(slots, when) else when)
    if found is None and slots.said.has(*JUST_NOW):
        return slots.fill("start", now(slots), "clock")
    return found


def now(slots: Slots) -> datetime:
    """The present instant: the clock's, unless the speaker gives the time ("it's quarter to midnight now")."""
    reading = slots.used["now"].value if "now" in slots.used else None
    if isinstance(reading, Reading):
        found = resolve(reading, slots.night.now, "nearest", None)[0]
        slots.used["now"] = Used(found, "question", slots.used["now"].words)
        return found
    return slots.night.now


def planned_start(slots: Slots, of: Feed) -> datetime | None:
    """The plan's start of a feed: the run that is on by the plan, else the next one (or on the day named)."""
    if of.start is None:
        return None
    reading = Reading("clock", of.start.hour * 60 + of.start.minute, "24h")
    day = slots.day()
    present = slots.night.now
    if day:
        return resolve(reading, present, "nearest", day)[0]
    last = resolve(reading, present, "past", None)[0]
    length = feed_time(of)
    if length is not None and before(present, later(last, length)):
        return last
    return resolve(reading, present, "future", None)[0]
