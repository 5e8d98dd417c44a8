"""The places that an act has for numbers: its time, its end, its length, an amount, a rate; each with a price.

A place is dear where the words beside the number do not plainly ask for it. Used by acts_fit.py.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from assistant.message import Reading
from knowledge.library import table

AT = frozenset({"at", "from", "since", "about", "around", "by", "@", "roughly", "just", "gone"})
FOR = frozenset({"for", "during", "after", "lasted", "took", "within"})
OF_THE = frozenset({"the", "his", "her", "my", "our", "their", "that", "this", "a"})
HALF_A_DAY = 12 * 60  # minutes
STILL = frozenset({"left", "remaining", "unused", "wasted", "still"})
BACK = frozenset({"ago", "earlier", "back", "since"})
STRETCHED = ("off", "pause", "on", "start", "bolus")  # acts that may be told with an end of their own
HALTED = ("off", "pause")
MEASURED = ("flush", "pour", "bolus", "vomit", "stop", "another")  # a bare number beside one of these is an amount
RATED = ("on", "start", "resume", "hang")
TIMED = {"clock", "ago", "later", "sooner"}
UNTIL = 1.0  # a time after "until" is an end, not a beginning


@dataclass(frozen=True)
class Number:
    """One number: its likeliest reading, the time of day and the bare number it may be, the end of a range, the words
    beside it."""

    first: Reading
    clock: Reading | None
    bare: Reading | None
    upper: Reading | None
    before: Reading | None
    ranged: bool
    start: int
    end: int
    lead: str
    after: str


def places(what: str, number: Number, taken: set[str], between: bool) -> Iterator[tuple[str, Any, float]]:
    """The places that an act has for a number, with a price for each that is not plain."""
    kind = number.first.kind
    if what == "stop" and number.after in STILL and kind in ("number", "volume"):
        return  # "took it down at six, 30 left in the bag": not what went in
    if number.ranged:
        at_once = what not in STRETCHED or number.lead in ("at", "@", "about", "by", "around")
        if number.before is not None and "clock" not in taken and number.lead not in ("from", "between"):
            yield "clock", number.before, 0.0  # "at five till nine", "new set five to nine"
            if at_once:
                return
        both = number.upper is not None and number.clock is not None and not taken & {"clock", "until", "span"}
        if both and what in STRETCHED:
            yield "span", (number.clock, number.upper), 0.0
        return
    if kind == "time":
        yield from _lengths(what, number, taken)
        if number.clock is not None and number.after not in BACK and number.lead not in FOR:
            yield from _clocks(what, number, taken, between)  # "8h20"
        return
    if kind in ("day", "rate", "volume", "count"):
        if kind == "count" and what == "vomit":
            yield "remark", number.first, 0.0  # "vomit x1"
        fits = {"day": True, "rate": what in (*RATED, "rate"), "volume": True, "count": what in ("pour", "hang")}[kind]
        slot = {"count": "volume"}.get(kind, kind)
        if fits and slot not in taken:
            yield slot, number.first, 0.0
        return
    if number.bare is not None:
        yield from _bare(what, number, number.bare, taken)
    if number.clock is not None:
        yield from _clocks(what, number, taken, between)


def _lengths(what: str, number: Number, taken: set[str]) -> Iterator[tuple[str, Any, float]]:
    if number.after in ("late", "early"):
        yield "remark", number.first, 0.0  # beside the time itself: "an hour late tonight, 9.30"
    elif number.after in BACK:
        if not taken & {"clock", "ago"}:
            yield "ago", number.first, 0.0
    elif number.after == "before":
        if not taken & {"clock", "sooner"}:
            yield "sooner", number.first, 0.0  # "flushed it five minutes before that"
    elif number.after in ("later", "after", "afterwards") or number.lead == "after":
        if not taken & {"clock", "later"}:
            yield "later", number.first, 0.0
    elif what in ("on", "resume") and number.lead in ("again", "on", "running", "going") and not taken & TIMED:
        yield "ago", number.first, 0.3  # "been going again ten minutes"
    elif what in HALTED and "lasted" not in taken:
        yield "lasted", number.first, 0.0


def _bare(what: str, number: Number, bare: Reading, taken: set[str]) -> Iterator[tuple[str, Any, float]]:
    """A bare number as an amount or a rate."""
    value, at = bare.value, number.lead in AT
    if what in MEASURED and "volume" not in taken:
        likely_a_time = at or number.first.kind == "clock" or (number.clock and number.clock.unit == "24h")
        yield "volume", Reading("volume", value, "mL"), 0.2 + (1.0 if likely_a_time else 0.0)
    as_rate = (what == "rate") or (what in RATED and number.lead in ("at", "@", "rate", "running") and "clock" in taken)
    if as_rate and "rate" not in taken:
        yield "rate", Reading("rate", value, "mL/h"), 0.0 if number.lead in ("to", "rate") else 0.3


def _clocks(what: str, number: Number, taken: set[str], between: bool) -> Iterator[tuple[str, Any, float]]:
    until = number.lead in table("acts_en")["words"]["until"]
    plain = number.first.kind == "clock"
    price = 0.0 if plain else 0.3 if number.lead in AT or (number.clock and number.clock.unit == "24h") else 0.8
    named = number.lead in OF_THE or (number.clock is not None and number.clock.value % HALF_A_DAY == 0)
    if plain and named and number.after in ("feed", "one", "bolus"):
        yield "remark", number.clock, 0.0  # "the midday one": its name
        return
    if "clock" not in taken and not (until and what in HALTED):
        yield "clock", number.clock, price + (UNTIL if until else 0.0)
    loose = number.lead not in AT and (number.lead != "and" or between)  # "paused at four, at five past ..." is no end
    ends = until or (what in HALTED and "clock" in taken and loose)
    if what in STRETCHED and "until" not in taken and ends and ("clock" in taken or what in HALTED):
        yield "until", number.clock, price + (0.0 if until else UNTIL)
    elif until and what in HALTED and {"clock", "until"} <= taken and "over" not in taken:
        yield "over", number.clock, price  # "from ten to midnight until twenty past"
