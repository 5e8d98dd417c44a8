"""Which numbers are beside the point: of another thing, said twice, the plan's own, what an answer is held against."""

from __future__ import annotations

import re
from datetime import datetime, time, timedelta

from assistant.clauses.false_starts import broken_off, may_be_the_rate
from assistant.language.spelling import familiar
from assistant.message import Reading
from assistant.night import feed_rate, feed_volume
from assistant.numbers.number_pairs import beside
from assistant.numbers.other_events import in_another_story, of_an_age_or_day, of_last_time
from assistant.numbers.said import HINTED, Spoken
from assistant.numbers.wants import size_of
from assistant.slots import Slots
from rules.quantity import Quantity, is_amount, number, qty

#: no sum that leaves one of these over counts with it
BESIDE_THE_FEED = frozenset({"length", "temperature", "mass", "age", "other"})
COUNTED = frozenset({"container", "bottle", "bag", "meal", "feed", "scoop", "syringe", "jug"})
HOURS = 24
PLAINLY = 1.2  # a start is spoken for by more than "at"
A_FEW = 6
ABOUT = 10  # minutes
A_DAY = qty(HOURS, "h")
COMPARED = re.compile(
    r"\b(?:(?:more|less|fewer|later|longer) than|enough|need|or"
    r"|am i right(?: in saying)?(?: that)?(?: it's| it is| that's)?"
    r"|(?:till?|until|(?:last|see|get|do|make|hang|stay|keep|leave|sleep|nap|rest|lie|doze|kip|snooze|wait)(?: \w+)*)"
    r" (?:to|till?|until|by)"
    r"|(?:ok|okay|good|fine|safe|usable|alright|all right) (?:at|by|for|until|till?))$"
)
RUN_TOGETHER = frozenset({"thats", "whats", "hows", "whens", "wheres", "lets", "shes", "theres", "heres", "whos"})
STILL = re.compile(r"\b(?:still|same|again)(?: at| from)?$")


def compared(spoken: Spoken) -> bool:
    """ "Do I need one box or two", "will it last till 5": a number that the answer is held against."""
    if spoken.roles.get("held_against", 0.0) > 0.9 and spoken.reading("clock", "number") is not None:
        return True
    return bool(COMPARED.search(spoken.before) or re.match(r"(?:or|enough|goes|yes|right)\b", spoken.after))


def harmless(spoken: Spoken, slots: Slots) -> bool:
    """Is a number beside the point: of something else, said twice, the plan's, or what the answer is held against?"""
    reading = spoken.amount.readings[0]
    weighed = spoken.roles.get("weight", 0.0) if beside("weighed").search(slots.said.lower) else 0.0
    if max(spoken.roles.get("noise", 0.0), weighed) > 0.9 or reading.kind in BESIDE_THE_FEED:
        return True
    if reading.kind == "count" and reading.unit not in COUNTED:
        return True
    if broken_off(spoken.roles):
        return not may_be_the_rate(spoken.amount, slots.night)
    if reading.kind == "number" and reading.value <= A_FEW and spoken.before.endswith("next"):
        return True  # "when are the next two?"
    if reading.kind == "count" and reading.unit in ("feed", "meal") and reading.value == len(slots.night.feeds):
        return True
    if reading.kind == "count" and reading.unit in ("feed", "meal") and reading.value == 1:
        return spoken.after.startswith("of")  # "one feed of 110"
    begins = spoken.roles.get("start", 0.0) > PLAINLY and "start" not in slots.spoken  # "home late, it only went up at"
    of_an_event = spoken.roles.get("event", 0.0) > 0.9 and not begins
    if of_an_event or of_something_else(spoken, tuple(spoken.after.split()[:1])):
        return True  # at the bus stop; "it would be two mouthfuls"
    if of_an_age_or_day(spoken.amount, spoken.before, spoken.after) or of_last_time(slots.said.heard, spoken.amount):
        return True
    if reading.kind in ("number", "clock", "time", "count") and in_another_story(slots.said.heard, spoken.amount):
        return True
    if reading.kind == "count" and _so_many_come_to(reading, slots):
        return True  # "I tipped in 2 bottles, so 500"; "when is that one bag empty"
    return compared(spoken) or said_again(spoken, slots)


def said_again(spoken: Spoken, slots: Slots) -> bool:
    """Does a number say again what time it is, what is counted with, what the plan has or the log?"""
    if spoken.roles.get("clock_now", 0.0) >= HINTED and _is_now(spoken, slots):
        return True  # "it's half two in the morning": so it is
    return _said_twice(spoken, slots) or _of_the_plan(spoken, slots) or _in_the_log(spoken, slots)


def _in_the_log(spoken: Spoken, slots: Slots) -> bool:
    """ "I switched it off at four", which the log has: it says nothing new."""
    if not DONE_THEN.search(spoken.before):
        return False
    late = [e.at for e in slots.night.events if slots.night.now - e.at < A_NIGHT]
    return any(_near_it(at, minutes) for at in late for minutes in _clocks(spoken))


DONE_THEN = re.compile(r"\b(?:off|stopp?\w*|start\w*|began|on|paus\w*|ended|finished|hung|hooked|unhooked|up|down)"
                       r"(?: (?:it|her|him|again|all))?(?: (?:at|about|around|from))*$")
A_NIGHT = timedelta(hours=24)


def _near_it(at: datetime, minutes: int) -> bool:
    off = (at.hour * 60 + at.minute - minutes) % 720
    return min(off, 720 - off) <= ABOUT


def _clocks(spoken: Spoken) -> list[int]:
    return [int(r.value) * (1 if r.kind == "clock" else 60) for r in spoken.amount.readings
            if r.kind == "clock" or (r.kind == "number" and r.value in range(1, 13))]


def _so_many_come_to(reading: Reading, slots: Slots) -> bool:
    size = size_of("bag" if reading.unit == "bag" else "container", slots.night)
    amounts = [u.value for n, u in slots.used.items() if n in ("volume", "total", "hung") and is_amount(u.value)]
    if reading.unit not in ("bag", "bottle", "container", "jug"):
        return False
    whole = size is not None and any(reading.value * size == amount for amount in amounts)
    return bool(amounts) and (reading.value == 1 or whole)


def _is_now(spoken: Spoken, slots: Slots) -> bool:
    return any(_near_it(slots.night.now, minutes) for minutes in _clocks(spoken))


def _said_twice(spoken: Spoken, slots: Slots) -> bool:
    """Does it say again what is counted with? A day's length is one that every plan is written for."""
    reading = spoken.amount.readings[0]
    if spoken.roles.get("water_given", 0.0) > 0.9:
        return False  # "20 water before and 20 water after": twice as much, not said twice
    if reading.kind == "clock":
        used = (u.value for u in slots.used.values() if isinstance(u.value, datetime))
        return any(_same_time(at, int(reading.value)) for at in used)
    if _same(reading, A_DAY):
        return True
    amounts = [u.value for u in slots.used.values() if is_amount(u.value)]
    if reading.kind == "number" and reading.value in range(1, 13):  # "still ten"
        used = (u.value for u in slots.used.values() if isinstance(u.value, datetime))
        if STILL.search(spoken.before) and any(_same_time(at, int(reading.value) * 60) for at in used):
            return True
    if reading.kind == "number":
        if any((c := s.reading("count")) is not None and c.value == reading.value for s in slots.spoken.values()):
            return True
        alike = [s for s in slots.said.spoken if s.amount.readings[0].value == reading.value]
        return len(alike) == 2 and any(amount.magnitude == reading.value for amount in amounts)
    return any(_same(reading, amount) for amount in amounts)


def _of_the_plan(spoken: Spoken, slots: Slots) -> bool:
    """Is it the ordered start, amount or rate of the feed meant, or the feed's name ("the noon feed")?"""
    if slots.night.feeds_named(f"{spoken.before} {spoken.amount.text}"):
        return True
    if _strength(spoken, slots):
        return True
    of, clock = slots.night.feed_for(slots.said.heard.text), spoken.reading("clock")
    if of is None:
        if clock is not None and any(f.start and _same_time(f.start, int(clock.value)) for f in slots.night.feeds):
            return True
        first, rates = spoken.amount.readings[0], [f.rate for f in slots.night.feeds if f.rate is not None]
        if first.kind == "number" and first.value in slots.night.ordered_volumes:
            return True
        return first.kind in ("rate", "number") and first.value in [number(rate, "mL/h") for rate in rates]
    for amount in (feed_volume(of), feed_rate(of)):
        if amount is not None and any(
            _same(r, amount) or (r.kind == "number" and r.value == amount.magnitude) for r in spoken.amount.readings
        ):
            return True
    return of.start is not None and clock is not None and _same_time(of.start, int(clock.value))


def _strength(spoken: Spoken, slots: Slots) -> bool:
    """ "The formula is the 1.3 one": the plan's strength, told as a name."""
    plan, reading = slots.night.plan, spoken.amount.readings[0]
    energy = plan.formula.energy if plan is not None else None
    if energy is None or reading.kind not in ("number", "density"):
        return False
    return bool(reading.value == number(energy, "kcal/mL"))


def _same_time(at: datetime | time, minutes: int) -> bool:
    """Is it the same on a twelve-hour clock?"""
    return (at.hour * 60 + at.minute - minutes) % 720 == 0


def _same(reading: Reading, value: Quantity) -> bool:
    try:
        return bool(qty(reading.value, reading.unit) == value)
    except (KeyError, ValueError, TypeError, AttributeError):
        return False


def of_something_else(spoken: Spoken, after: tuple[str, ...]) -> bool:
    """Is a bare number counted in things that are no part of feeding?"""
    return bool(after) and spoken.amount.readings[0].kind == "number" and _is_foreign_plural(after[0])


def _is_foreign_plural(word: str) -> bool:
    plural = len(word) > 3 and word.isalpha() and word.endswith("s") and word not in RUN_TOGETHER
    return plural and word not in familiar()
