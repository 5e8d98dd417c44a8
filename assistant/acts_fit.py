"""Which number of a message belongs to which act: "2140 on, 2310 off", "on at 2140 and off at 2310", "flushed 30 at 9".

Every number goes to the act before it or to the one after it, into a place that the act has for it. Of all ways to do
that the nearest wins; where two are as near, none does, and the caller asks. Pure: the acts and numbers are given.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

from assistant.message import Reading
from knowledge.library import table

STOPS = frozenset({".", "!", ";"})
JOINERS = frozenset({",", "and", "then", "so", "but", "&", "+", "-", "before", "after", "cos", "because", "when"})
AT = frozenset({"at", "from", "since", "about", "around", "by", "@", "roughly", "just", "gone"})
BACK = frozenset({"ago", "earlier", "back"})
STRETCHED = ("off", "pause", "on", "start", "bolus")  # acts that may be told with an end of their own
HALTED = ("off", "pause")
MEASURED = ("flush", "pour", "bolus", "vomit", "stop")  # a bare number beside one of these is an amount
RATED = ("on", "start", "resume", "hang")
PER_WORD, PER_JOINER, PER_STOP, BACKWARDS, UNTIMED = 0.12, 1.0, 4.0, 0.4, 0.6  # what distance costs
UNTIL = 1.0  # a time after "until" is an end, not a beginning
CLEARLY = 0.3  # the best way must be nearer than the next by this
MOST_WORDS, MOST_NUMBERS = 10, 12
NEAR = 6  # words before the second time of "between ten and eleven"


@dataclass(frozen=True)
class Found:
    """The words of one act: which act, its first word and the one after its last."""

    what: str
    start: int
    end: int


@dataclass(frozen=True)
class Number:
    """One number: its likeliest reading, the time of day and the bare number it may be, the end of a range, the words
    beside it."""

    first: Reading
    clock: Reading | None
    bare: Reading | None
    upper: Reading | None
    ranged: bool
    start: int
    end: int
    lead: str
    after: str


@dataclass(frozen=True)
class Act:
    """One act as told, from word `start` to word `end`; the words of the act itself end before word `told`.

    `until`: the end of a pause or a feed, a clock time or "now"; `lasted`: its length; `ago`: how long before now;
    `later`: how long after the act before it. `whole`: all of a feed went in; `beside`: a flush before or after it;
    `linked`: told in one sentence with the act before it.
    """

    what: str
    start: int = 0
    end: int = 0
    told: int = 0
    clock: Reading | None = None
    until: Reading | str | None = None
    over: Reading | None = None
    lasted: Reading | None = None
    ago: Reading | None = None
    later: Reading | None = None
    volume: Reading | None = None
    rate: Reading | None = None
    day: str | None = None
    for_good: bool = False
    for_a_while: bool = False
    whole: bool = False
    now: bool = False
    beside: bool = False
    linked: bool = False

    @property
    def timed(self) -> bool:
        return any((self.clock, self.ago, self.later, self.now))


def fitted(found: list[Found], numbers: list[Number], tokens: tuple[str, ...]) -> tuple[Act, ...]:
    """The acts with their numbers; empty where a number has no place, or where two ways are as near."""
    if len(numbers) > MOST_NUMBERS:
        return ()
    ways = sorted(_ways(found, numbers, tokens), key=lambda way: way[0])
    if not ways or (len(ways) > 1 and ways[1][0] - ways[0][0] < CLEARLY and ways[1][1] != ways[0][1]):
        return ()
    filled = ways[0][1]
    starts = [one.start for one in found]
    for number, (at, _, _) in zip(numbers, filled, strict=True):
        starts[at] = min(starts[at], number.start)
    acts: list[Act] = []
    for at, one in enumerate(found):
        end = starts[at + 1] if at + 1 < len(found) else len(tokens)
        places = {slot: reading for to, slot, reading in filled if to == at and slot != "remark"}
        before = tokens[found[at - 1].end : one.start] if at else ()
        linked = bool(at) and not STOPS & set(before)
        acts.append(replace(_act(one.what, starts[at], end, places, tokens), told=one.end, linked=linked))
    return tuple(acts)


def _act(what: str, start: int, end: int, places: dict[str, Any], tokens: tuple[str, ...]) -> Act:
    words, line = table("acts_en")["words"], f" {' '.join(tokens[start:end])} "
    if "span" in places:
        places["clock"], places["until"] = places.pop("span")
    if "day" in places:
        places["day"] = str(places["day"].value)
    return Act(
        what, start, end, **places,
        for_good=any(f" {phrase} " in line for phrase in words["for_good"]),
        for_a_while=any(re.search(rf" {phrase} ", line) for phrase in words["for_a_while"]),
        beside=what == "flush" and any(f" {phrase} " in line for phrase in words["beside"]),
        whole=any(f" {phrase} " in line for phrase in words["whole"]),
        now=any(f" {phrase} " in line for phrase in words["now"]) and "clock" not in places,
    )


Way = tuple[float, tuple[tuple[int, str, Any], ...]]


def _ways(
    found: list[Found], numbers: list[Number], tokens: tuple[str, ...], done: tuple[tuple[int, str, Any], ...] = (),
    cost: float = 0.0,
) -> Iterator[Way]:
    """Every way to give each number a place, with what it costs."""
    if len(done) == len(numbers):
        timed = {at for at, slot, _ in done if slot in ("clock", "span", "ago", "later")}
        yield cost + UNTIMED * (len(found) - len(timed)), done
        return
    number = numbers[len(done)]
    before = max((i for i, one in enumerate(found) if one.start <= number.start), default=None)
    after = min((i for i, one in enumerate(found) if one.start > number.start), default=None)
    for at in (before, after):
        if at is None:
            continue
        taken = {slot for to, slot, _ in done if to == at}
        between = "between" in tokens[max(0, number.start - NEAR) : number.start]
        for slot, reading, price in _places(found[at].what, number, taken, between):
            far = _distance(found[at], number, numbers, tokens) + _against_the_order(found, found[at], number, numbers)
            yield from _ways(found, numbers, tokens, (*done, (at, slot, reading)), cost + price + far)


def _distance(one: Found, number: Number, numbers: list[Number], tokens: tuple[str, ...]) -> float:
    """How far a number stands from an act: the words, joining words and stops between them."""
    if one.start <= number.start < one.end:
        return 0.0
    ahead = number.start < one.start
    low, high = (number.end, one.start) if ahead else (one.end, number.start)
    counted = {i for other in numbers for i in range(other.start, other.end)}
    between = [tokens[i] for i in range(low, high) if i not in counted]
    words = min(MOST_WORDS, len([t for t in between if t not in JOINERS and t not in STOPS and t not in AT]))
    joined = [t for i, t in enumerate(between) if t in JOINERS and (i == 0 or between[i - 1] not in JOINERS)]
    far = PER_WORD * words + PER_JOINER * len(joined) + PER_STOP * sum(t in STOPS for t in between)
    return far - (BACKWARDS if ahead and _opens(number, tokens) else 0.0)


def _against_the_order(found: list[Found], one: Found, number: Number, numbers: list[Number]) -> float:
    """What it costs to read a time the other way round than the message begins ("2140 on", "on 2140")."""
    if number.first.kind not in ("clock", "number") or one.start <= number.start < one.end:
        return 0.0
    ahead = number.start < one.start
    times_first = numbers[0].clock is not None and numbers[0].start < found[0].start
    if times_first and not ahead:
        return 0.0 if number.clock is None or number.lead in AT else BACKWARDS
    return BACKWARDS if ahead and not times_first else 0.0


def _opens(number: Number, tokens: tuple[str, ...]) -> bool:
    """Does a clause begin with this number ("at 9 I flushed it")?"""
    at = number.start - 1
    while at >= 0 and tokens[at] in AT:
        at -= 1
    return at < 0 or tokens[at] in JOINERS or tokens[at] in STOPS


def _places(what: str, number: Number, taken: set[str], between: bool) -> Iterator[tuple[str, Any, float]]:
    """The places that an act has for a number, with a price for each that is not plain."""
    kind = number.first.kind
    if number.ranged:
        both = number.upper is not None and number.clock is not None and not taken & {"clock", "until"}
        if both and what in STRETCHED:
            yield "span", (number.clock, number.upper), 0.0
        return
    if kind == "time":
        yield from _lengths(what, number, taken)
        return
    if kind in ("day", "rate", "volume", "count"):
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
    elif number.after in ("later", "after", "afterwards") or number.lead == "after":
        if not taken & {"clock", "later"}:
            yield "later", number.first, 0.0
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
    if plain and number.after in ("feed", "one", "bolus"):
        yield "remark", number.clock, 0.0  # "the midday one": its name
        return
    if "clock" not in taken and not (until and what in HALTED):
        yield "clock", number.clock, price + (UNTIL if until else 0.0)
    ends = until or (what in HALTED and "clock" in taken and (number.lead != "and" or between))
    if what in STRETCHED and "until" not in taken and ends and ("clock" in taken or what in HALTED):
        yield "until", number.clock, price + (0.0 if until else UNTIL)
    elif until and what in HALTED and {"clock", "until"} <= taken and "over" not in taken:
        yield "over", number.clock, price  # "from ten to midnight until twenty past"
