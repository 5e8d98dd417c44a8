"""When a feed starts, by the words, the clock or the plan; and what time it is."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta

from assistant.hear.clock import resolve
from assistant.household.care_plan import Feed
from assistant.message import Reading
from assistant.night import feed_time
from assistant.numbers.spoken import Spoken
from assistant.numbers.wants import Ask, Used
from assistant.slots import Slots
from rules.clock import before, later
from rules.quantity import qty

PAUSED = (r"stopped", r"paused", r"off for", r"on hold", r"break of", r"held", r"interrupted", r"pause", r"was off")
NEAR_ORDERED, ABOUT = 180, 60  # minutes
AHEAD = qty(1, "h")  # so far ahead of the clock no one says that it has begun

SAME_START = timedelta(minutes=5)
FROM_NOW = (r"right now", r"from now", r"this minute")  # on a feed that runs, no start of it
STARTED_NOW = (
    r"just (?:now )?(?:started|hung|put|connected|hooked|gone|turned|set)",
    r"starting now",
    r"start(?:ed)? now",
    r"starting it now",
    r"going up now",
    r"hanging now",
    r"(?:starts?|starting|started|hanging|hooks?|hooking|puts?|putting|hangs?) (?:[\w']+ ){1,5}(?:right )?now"
    r"(?! (?:that|only|and then))",
)
JUST_NOW = (*STARTED_NOW, *FROM_NOW)


BEGUN = re.compile(
    r"\b(?:opened|started|began|begun|hung|connected|spiked|kicked off|set (?:off|away|going)|went (?:on|up)|was on"
    r"|put (?:it|him|her|them|me|(?:the|his|her|my) (?:pump|feed|machine|bag|drip)) (?:on|up)"
    r"|hooked|plugged|attached|clipped|switched on|turned on"
    r"|got (?:(?:the|his|her|my|it|him|them) )?(?:\w+ )?(?:going|on))\b[^.?!]*$"
)
IS_ON = re.compile(r"\b(?:on|up|going|running|away)(?: (?:at|since|from|about|around|just))*$")
TO_BEGIN = re.compile(r"\b(?:start(?:ing)?|begin(?:ning)?) (?:time|hour)(?: (?:is|of|at|about|around))*$")
SUPPOSED = (r"if", r"suppose", r"supposing", r"say", r"will", r"would", r"should", r"have to", r"tomorrow")


BROKEN_OFF = (
    r"(?:disconnect(?:ed)?|unplug(?:ged)?|stopp?(?:ed)?|paused?|came off|took (?:him|her|it) off|was off|were off)"
    r"(?: (?:it|him|her|from|at|between))*"
    r" (?:\d|half|quarter|ten|five|twenty|one|two|three|four|six|seven|eight|nine)",
)


def _supposed(slots: Slots, spoken: Spoken) -> bool:
    """Is the start one that is put, or to come? "What time should I expect it" after it says nothing of the start."""
    before = " ".join(slots.said.heard.tokens[: spoken.amount.start])
    return slots.said.has("tomorrow") or bool(re.search(rf"\b(?:{'|'.join(SUPPOSED)})\b", before, re.IGNORECASE))


def _has_begun(slots: Slots, when: str) -> bool:
    """ "Opened at five past five", said before midnight: told as past, though the nearest such time is yet to come."""
    spoken, reading = slots.spoken.get("start"), slots.get("start")
    if spoken is None or not isinstance(reading, Reading) or slots.day("start"):
        return False
    if _supposed(slots, spoken) and not slots.said.has(*BROKEN_OFF):
        return False
    near = resolve(reading, slots.night.now, when, None)[0]
    if not before(later(slots.night.now, AHEAD), near):
        return False
    gone = resolve(reading, slots.night.now, "past", None)[0]
    if slots.said.has(*BROKEN_OFF) and not slots.said.has("tomorrow", "if", "suppose", "supposing"):
        return True  # "begin 12 noon, we disconnect 8:30 pm to 9:15 pm, now 2:10"
    is_on = IS_ON.search(spoken.before) and _about_a_start(slots, gone) and not _about_a_start(slots, near)
    return bool(BEGUN.search(spoken.before) or is_on)


def _about_a_start(slots: Slots, at: datetime) -> bool:
    """ "On at half eight", asked at three in the night: of the two halves of the day, that at which a feed starts."""
    starts = [feed.start.hour * 60 + feed.start.minute for feed in slots.night.feeds if feed.start is not None]
    return any(abs((at.hour * 60 + at.minute - one + 720) % 1440 - 720) <= ABOUT for one in starts)


ALWAYS = (
    r"like always", r"as always", r"as usual", r"like (?:every|other) (?:day|night)s?", r"same as (?:always|ever)",
    r"(?:at )?the usual time", r"like normal", r"as normal",
)


def _usual_half(slots: Slots) -> datetime | None:
    """ "At eight on Friday": of the two halves of a day to come, the one near the feed's ordered start."""
    reading, of, day = slots.get("start"), slots.night.feed_for(slots.said.heard.text), slots.day("start")
    if not isinstance(reading, Reading) or reading.unit != "12h" or of is None or of.start is None:
        return None
    to_begin = day is None and "start" in slots.spoken and TO_BEGIN.search(slots.spoken["start"].before)
    ordered = of.start.hour * 60 + of.start.minute
    put = slots.said.has(*ALWAYS, r"if (?:he|she|i|we|it) (?:goes|go|start|starts|put|puts|get|gets)")
    as_always = put and (int(reading.value) - ordered) % 720 == 0  # "if she goes on at half eight", ordered for 20:30
    of_now = day in (None, "today", "tonight", "yesterday", "last night")
    named = of in slots.night.feeds_named(slots.said.heard.text) and "start" in slots.spoken
    if "start" in slots.carried or (of_now and not (as_always or to_begin or named)):
        return None
    spoken = slots.spoken.get("start")
    begun = spoken is not None and BEGUN.search(spoken.before) and not _supposed(slots, spoken)
    put = _supposed(slots, spoken) if spoken is not None else True
    when = "past" if begun else "future" if put or day is not None or not named else "nearest"
    found = resolve(reading, slots.night.now, when, None if as_always and day == "tonight" else day)
    off = [abs((at.hour * 60 + at.minute - ordered + 720) % 1440 - 720) for at in found]
    near = [at for at, minutes in zip(found, off, strict=True) if minutes <= NEAR_ORDERED]
    if len(near) != 1:
        return None
    used = slots.used["start"]
    slots.used["start"] = Used(near[0], used.origin, used.words, used.in_words)
    return near[0]


CASE_OF_THEN = (
    r"(?:if|suppose|supposing|say|imagine)(?: \w+)? ?(?:had|'d|id|only|got|went|started|began|been|was|hung|put)",
)


def _instead_of_the_real_one(slots: Slots) -> datetime | None:
    """ "What if I'd started at 9", of a feed that runs by the log since twenty to ten at night: nine at night."""
    reading, state = slots.get("start"), slots.night.state
    if not isinstance(reading, Reading) or reading.unit != "12h" or state is None or state.started is None:
        return None
    again = slots.said.has("again", r"back (?:on|up)", r"re-?start\w*", r"going again")
    if "start" not in slots.spoken or slots.day("start") or again or not slots.said.has(*CASE_OF_THEN):
        return None
    halves = [resolve(Reading("clock", int(reading.value) % 720 + half, "24h"), state.started, "nearest", None)[0]
              for half in (0, 720)]
    found = min(halves, key=lambda at: abs(at - state.started))  # type: ignore[operator]
    slots.used["start"] = replace(slots.used["start"], value=found)
    return found


def start(slots: Slots, *, when: str = "nearest") -> datetime | None:
    """The start said; "just started" and "starting now" are now."""
    usual = _instead_of_the_real_one(slots) or _usual_half(slots)
    if usual is not None:
        return usual
    found = slots.instant("start", "past" if _has_begun(slots, when) else when)
    if _as_logged(slots, found):
        del slots.used["start"]
        return None
    if found is None and slots.said.has(*(STARTED_NOW if _runs(slots) else JUST_NOW)):
        return slots.fill("start", now(slots), "clock")
    return found


def _as_logged(slots: Slots, at: datetime | None) -> bool:
    """ "How much since noon?", of a feed that is on by the log since noon: its pauses and rates count."""
    state = slots.night.state
    if at is None or state is None or state.started is None or "start" not in slots.spoken or not state.running:
        return False
    told = {"rate", "volume", "total", "over"} & slots.spoken.keys()
    return not told and abs(at - state.started) <= SAME_START and not slots.said.has(*CASE_OF_THEN)


def _runs(slots: Slots) -> bool:
    """ "Say she went 100 from now", of a feed that is on by the log: what ran before counts all the same."""
    state = slots.night.state
    return state is not None and state.running


def ends_after(slots: Slots, name: str, begun: datetime) -> datetime | None:
    """The end said, as the next such time after the beginning."""
    reading = slots.get(name)
    if isinstance(reading, Reading):
        used = slots.used[name]
        slots.used[name] = Used(resolve(reading, begun, "future", None)[0], used.origin, used.words, used.in_words)
    found: datetime | None = slots.get(name)
    return found


def begun_before_the_end(slots: Slots) -> None:
    """ "Stopped at 4 am, it had been on since half past five the evening before": the last such hour before the end."""
    begun, ended = slots.get("start"), slots.get("by")
    if not isinstance(begun, Reading) or not isinstance(ended, Reading) or slots.day("start") or slots.day("by"):
        return
    stopped = resolve(ended, slots.night.now, "past")[0]
    slots.used["by"] = replace(slots.used["by"], value=stopped)
    slots.used["start"] = replace(slots.used["start"], value=resolve(begun, stopped, "past")[0])


def no_pause(slots: Slots, name: str) -> None:
    """ "648 at 72 from 20:45, stopped half an hour": a length of time that was a pause is no running time; ask."""
    time = slots.spoken.get(name)
    if time is None or not slots.said.has(*PAUSED):
        return
    if time.roles.get("off", 0.0) >= max(0.9, *(time.roles.get(role, 0.0) for role in ("over", "ago"))):
        raise Ask("which_number", code="unclaimed", numbers=time.amount.text)


def now(slots: Slots) -> datetime:
    """The present instant: the clock's, unless the speaker gives the time ("it's quarter to midnight now")."""
    reading = slots.used["now"].value if "now" in slots.used else None
    if isinstance(reading, Reading):
        found = resolve(reading, slots.night.now, "nearest", None)[0]
        slots.used["now"] = Used(found, "question", slots.used["now"].words)
        return found
    return reading if isinstance(reading, datetime) else slots.night.now


def planned_start(slots: Slots, of: Feed, when: str = "nearest") -> datetime | None:
    """The plan's start of a feed: the run that is on by the plan, else the next one (or on the day named)."""
    if of.start is None:
        return None
    reading = Reading("clock", of.start.hour * 60 + of.start.minute, "24h")
    day = slots.day()
    present = slots.night.now
    if day:
        return resolve(reading, present, when, day)[0]
    last = resolve(reading, present, "past", None)[0]
    length = feed_time(of)
    if when == "past":
        return last
    if length is not None and before(present, later(last, length)):
        return last
    return resolve(reading, present, "future", None)[0]


def end_while_it_runs(slots: Slots, of: Feed | None) -> dict[str, datetime]:
    """The planned end of the feed that is on by now: what is short comes after it."""
    present = now(slots)
    for one in slots.night.feeds if of is None else (of,):
        begins, length = planned_start(slots, one), feed_time(one)
        if begins is not None and length is not None and not before(present, begins):
            return {"planned_finish": later(begins, length)}
    return {}
