"""Which number of a message belongs to which act: "2140 on, 2310 off", "on at 2140 and off at 2310", "flushed 30 at 9".

Every number goes to the act before it or to the one after it, into a place that the act has for it. Of all ways to do
that the nearest wins; where two are as near, none does, and the caller asks. Pure: the acts and numbers are given.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from itertools import product
from typing import Any

from assistant.message import Reading
from assistant.told.acts_places import AT, Number, places
from knowledge.library import table

STOPS = frozenset({".", "!", ";"})
JOINERS = frozenset({",", "and", "then", "so", "but", "&", "+", "-", "before", "after", "cos", "because", "when"})
PER_WORD, PER_JOINER, PER_STOP, BACKWARDS, UNTIMED = 0.12, 1.0, 4.0, 0.4, 0.6  # what distance costs
CLEARLY = 0.3  # the best way must be nearer than the next by this
TIMING = frozenset({"clock", "span", "ago", "later", "sooner"})  # places that say when an act was done
MOST_WORDS, MOST_NUMBERS = 10, 24
NEAR = 6  # words before the second time of "between ten and eleven"


@dataclass(frozen=True)
class Found:
    """The words of one act: which act, its first word and the one after its last."""

    what: str
    start: int
    end: int


@dataclass(frozen=True)
class Act:
    """One act as told, from word `start` to word `end`; the words of the act itself end before word `told`.

    `until`: the end of a pause or a feed, a clock time or "now"; `lasted`: its length; `ago`: how long before now;
    `later`, `sooner`: how long after or before the act told before it. `whole`: all of a feed went in;
    `beside`: a flush before or after it;
    `linked`: told in one sentence with the act before it; `row`: the next one is of the same row of times.
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
    sooner: Reading | None = None
    volume: Reading | None = None
    rate: Reading | None = None
    day: str | None = None
    for_good: bool = False
    for_a_while: bool = False
    whole: bool = False
    now: bool = False
    beside: str = ""
    linked: bool = False
    row: bool = False

    @property
    def timed(self) -> bool:
        return any((self.clock, self.ago, self.later, self.sooner, self.now))


def fitted(found: list[Found], numbers: list[Number], tokens: tuple[str, ...]) -> tuple[Act, ...]:
    """The acts with their numbers; empty where a number has no place, or where two ways are as near."""
    if len(numbers) > MOST_NUMBERS:
        return ()
    ways = _nearest(found, numbers, tokens)
    if not ways or (len(ways) > 1 and ways[1][0] - ways[0][0] < CLEARLY):
        return ()
    filled = ways[0][1]
    starts = [one.start for one in found]
    for number, (at, _, _) in zip(numbers, filled, strict=True):
        starts[at] = min(starts[at], number.start)
    acts: list[Act] = []
    for at, one in enumerate(found):
        end = starts[at + 1] if at + 1 < len(found) else len(tokens)
        clause = _clause(tokens, found[at - 1].end if at else 0, one.start)
        given = {slot: reading for to, slot, reading in filled if to == at and slot != "remark"}
        before = tokens[found[at - 1].end : one.start] if at else ()
        linked = bool(at) and not STOPS & set(before)
        acts.append(replace(_act(one.what, starts[at], end, given, tokens, clause), told=one.end, linked=linked))
    return tuple(acts)


def _clause(tokens: tuple[str, ...], low: int, start: int) -> tuple[str, ...]:
    """The words before an act, back to the joining word or the stop that its clause begins with."""
    begins = max((i + 1 for i in range(low, start) if tokens[i] in STOPS or tokens[i] in JOINERS), default=low)
    return tokens[begins:start]


def _act(
    what: str, start: int, end: int, given: dict[str, Any], tokens: tuple[str, ...], clause: tuple[str, ...]
) -> Act:
    words, line = table("acts_en")["words"], f" {' '.join(tokens[start:end])} "
    if "span" in given:
        given["clock"], given["until"] = given.pop("span")
    if "day" in given:
        given["day"] = str(given["day"].value)
    return Act(
        what, start, end, **given,
        for_good=any(f" {phrase} " in line for phrase in words["for_good"]),
        for_a_while=any(re.search(rf" {phrase} ", line) for phrase in words["for_a_while"]),
        beside=_beside(line) if what == "flush" else "",
        whole=any(f" {phrase} " in line for phrase in words["whole"]),
        now=(_just_now(what, tokens, start, end) or clause[:2] == ("just", "now")) and "clock" not in given,
    )


def _beside(line: str) -> str:
    """Is a flush told as one before or after what stands beside it?"""
    said = [phrase for phrase in table("acts_en")["words"]["beside"] if f" {phrase} " in line]
    return "" if not said else "after" if any(phrase.startswith("after") for phrase in said) else "before"


def _just_now(what: str, tokens: tuple[str, ...], start: int, end: int) -> bool:
    """ "... now", "just put it back on"; but "just before that" is another act's time."""
    words = table("acts_en")["words"]
    line = re.sub(r" just (?=before|after|as|when|gone|past) ?", " ", f" {' '.join(tokens[start:end])} ")
    ahead = " ".join(tokens[max(0, start - 2) : start])
    leads = what in words["led_by_just"] and any(ahead.endswith(phrase) for phrase in words["now"])
    return leads or any(f" {phrase} " in line for phrase in words["now"])


Way = tuple[float, tuple[tuple[int, str, Any], ...]]  # what it costs; for each number the act, the place, the reading


def _nearest(found: list[Found], numbers: list[Number], tokens: tuple[str, ...]) -> list[Way]:
    """The two cheapest ways to give each number a place.

    Number after number; of the ways that leave the same places free in the acts still to come, the two cheapest go on.
    """
    until = table("acts_en")["words"]["until"]
    ways: list[Way] = [(UNTIMED * len(found), ())]
    for number in numbers:
        before = max((i for i, one in enumerate(found) if one.start <= number.start), default=0)
        after = min((i for i, one in enumerate(found) if one.start > number.start), default=before)
        between = "between" in tokens[max(0, number.start - NEAR) : number.start]
        going: dict[frozenset[tuple[int, str]], list[Way]] = {}
        for (cost, done), at in product(ways, sorted({before, after})):
            taken = {slot for to, slot, _ in done if to == at}
            one = found[at]
            far = _distance(one, number, numbers, tokens) + _out_of_order(found, one, number, numbers, tokens)
            for slot, reading, price in places(one.what, number, taken, between):
                if slot == "until" and number.start < one.start and number.lead not in until:
                    continue  # "one o'clock sick, five past off": two times before an act are no pause with its end
                timed = UNTIMED if slot in TIMING and not taken & TIMING else 0.0
                way = (cost + price + far - timed, (*done, (at, slot, reading)))
                going.setdefault(frozenset((to, s) for to, s, _ in way[1] if to >= before), []).append(way)
        ways = [way for some in going.values() for way in sorted(some, key=_cost)[:2]]
    return sorted(ways, key=_cost)[:2]


def _cost(way: Way) -> float:
    return way[0]


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
    return PER_WORD * words + PER_JOINER * len(joined) + PER_STOP * sum(t in STOPS for t in between)


def _out_of_order(
    found: list[Found], one: Found, number: Number, numbers: list[Number], tokens: tuple[str, ...]
) -> float:
    """What it costs to read a number the other way round than the message begins ("2140 on", "on 2140")."""
    if one.start <= number.start < one.end:
        return 0.0
    times_first = numbers[0].clock is not None and numbers[0].start < found[0].start
    if number.start < one.start:
        return 0.0 if times_first or _opens(number, tokens) else BACKWARDS
    a_time = number.clock is not None and number.first.kind in ("clock", "number") and number.lead not in AT
    return BACKWARDS if times_first and a_time else 0.0


def _opens(number: Number, tokens: tuple[str, ...]) -> bool:
    """Does a clause begin with this number ("at 9 I flushed it")?"""
    at = number.start - 1
    while at >= 0 and tokens[at] in AT:
        at -= 1
    return at < 0 or tokens[at] in JOINERS or tokens[at] in STOPS
