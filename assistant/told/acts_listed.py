"""One word for an act, and several times: "flushed 40 at 8am, noon and 6", "interrupted 1 to 1.20 and 3 to 3.10".

Each further time is an act of its own, told without its word; an amount told once is each one's.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

from assistant.told.acts_fit import Act, Found
from assistant.told.acts_places import AT, HALTED, Number
from knowledge.library import table

LISTED = ("flush", "medicine", "vomit", "pour", "another")
JOINS = frozenset({",", "and", "&", "+", "then", "also", "again", "plus"})
IN_A_ROW = frozenset({"ml", "mls", "water", "of", "each", "one", "another", "more", "with", "a", "the", "was", "went"})
LAST_HOUR = 12


def listed(found: list[Found], numbers: list[Number], tokens: tuple[str, ...]) -> tuple[list[Found], list[Number]]:
    """The acts with one more for each further time, and the numbers with those times read as times alone."""
    made: list[Found] = []
    times: set[int] = set()
    for at, one in enumerate(found):
        low = one.start if at else 0
        high = found[at + 1].start if at + 1 < len(found) else len(tokens)
        mine = [n for n in numbers if low <= n.start < high]
        begins = _spans(mine, tokens) if one.what in HALTED else _times(mine) if one.what in LISTED else []
        ahead = [n for n in begins if n.start < one.start]
        to_come = sum(n.clock is not None and n.start >= low for n in _plain_times(numbers))
        others_too = one.what in LISTED and to_come < len(begins) + len(found) - at - 1  # some are the next acts' times
        torn = bool(ahead) and len(ahead) < len(begins)
        if len(begins) < 2 or others_too or torn or not _joined(begins, mine, tokens, alone=one.what in LISTED):
            made.append(one)
            continue
        if one.what in LISTED:
            times |= {n.start for n in begins}
        others = begins[:-1] if ahead else begins[1:]
        further = [Found(one.what, n, n) for n in (_first(other, mine, tokens) for other in others)]
        made += [*further, one] if ahead else [one, *further]
    read = [replace(n, first=n.clock, bare=None) if n.start in times and n.clock is not None else n for n in numbers]
    return made, read


def _plain_times(numbers: list[Number]) -> list[Number]:
    """The numbers that are times rather than amounts: the acts still to come need one each."""
    return [n for n in numbers if n.first.kind in ("clock", "time") or n.lead in AT or (
        n.clock is not None and n.bare is not None and n.bare.value <= LAST_HOUR)]


def _times(mine: list[Number]) -> list[Number]:
    """The times of day among an act's numbers: said as such, led by "at", or an hour in a row of them."""
    found: list[Number] = []
    for number in mine:
        hour = number.bare is not None and number.clock is not None and number.bare.value <= LAST_HOUR
        row = bool(found) and mine[mine.index(number) - 1] is found[-1] and number.lead in JOINS
        plain = number.first.kind == "clock" or (number.lead in AT and number.clock is not None)
        if not number.ranged and (plain or (hour and row)):
            found.append(number)
    return found


def _spans(mine: list[Number], tokens: tuple[str, ...]) -> list[Number]:
    """Where each pause begins, if each has an end or a length of its own; else none."""
    until = table("acts_en")["words"]["until"]
    begins: list[Number] = []
    ends = 0
    for number in mine:
        if number.upper is not None and number.clock is not None:
            begins.append(number)
            ends += 1
        elif number.first.kind == "time" or (number.clock is not None and number.lead in until):
            ends += 1
        elif number.clock is not None and not number.ranged:
            begins.append(number)
    return begins if len(begins) == ends and "between" not in tokens else []


def _joined(begins: list[Number], mine: list[Number], tokens: tuple[str, ...], *, alone: bool) -> bool:
    """Does a joining word stand between each of them and the number before it? `alone`: and nothing else ("poured 450
    at ten to, and away he went at nine" is one pour)."""
    for begin in begins[1:]:
        before = [n for n in mine if n.start < begin.start]
        first = _first(begin, mine, tokens)
        last = max((n for n in before if n.end <= first), key=lambda n: n.end, default=None)
        between = set(tokens[last.end : first]) if last is not None else set()
        if not between & JOINS or (alone and not between <= JOINS | AT | IN_A_ROW):
            return False
    return True


def _first(begin: Number, mine: list[Number], tokens: tuple[str, ...]) -> int:
    """The first word of a further act: its amount, where that leads its time ("... and 40 at 12")."""
    before = [n for n in mine if n.end <= begin.start]
    amount = before[-1] if before and before[-1].clock is None else None
    amount = amount if amount is not None and amount.first.kind in ("number", "volume") else None
    between = set(tokens[amount.end : begin.start]) if amount is not None else set()
    if amount is None or not between <= AT | {"ml", "mls"} or tokens[amount.start - 1] not in JOINS:
        return begin.start
    return amount.start


def shared(acts: tuple[Act, ...], found: list[Found]) -> tuple[Act, ...]:
    """The acts with the amount that was told once for all of a row ("..., 40 each"), each marked as one of it."""
    if len(acts) != len(found):
        return acts
    rows = {one.what for one in found if one.start == one.end}
    made = list(acts)
    for at, (one, other) in enumerate(pairwise(found)):
        if one.what == other.what and (one.start == one.end or other.start == other.end):
            made[at] = replace(made[at], row=True)
    for what in rows & set(LISTED):
        row = [at for at, act in enumerate(acts) if act.what == what]
        told = [acts[at].volume for at in row if acts[at].volume is not None]
        if len(told) == 1:
            for at in row:
                made[at] = replace(made[at], volume=told[0])
    return tuple(made)
