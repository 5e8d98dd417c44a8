"""A unit that is said apart from its number: "72 it reads, and mL/min in the corner". It is the number's all the same.

Left bare, the number would be taken in the plan's unit, sixty times too small.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from assistant.hear.lexicon import lexicon
from assistant.hear.measures import RATES
from assistant.hear.per import per_time
from assistant.hear.tokens import Words
from assistant.message import Amount, Reading

FAR = 12  # words between a number and its unit
LEAST = 5  # a smaller number is hardly a rate
_ASKED = frozenset({"many", "much", "in", "into", "to", "what", "what's", "whats", "which", "as"})
_TOLD = frozenset({"it's", "its", "is", "are", "reads", "reading", "shows", "measured", "was"})
_WANTED = frozenset({"for", "to", "if", "when"})
_STOPS = frozenset({"?"})
_DROPS = {"min": "drop/min", "s": "drop/s"}


def with_units_apart(w: Words, amounts: list[Amount]) -> list[Amount]:
    """`amounts`, the bare one that a unit of rate stands apart from taken in that unit."""
    apart = _apart(w, amounts)
    if len(apart) != 1:
        return amounts  # none, or several, of which nobody knows whose they are
    begins, ends, readings = apart[0]
    after = next((i for i, a in enumerate(amounts) if 0 <= a.start - ends <= 1), None)
    before = next((i for i, a in reversed([*enumerate(amounts)]) if a.end <= begins), None)
    later = next((i for i, a in enumerate(amounts) if a.start >= ends), None)
    for at in (after, before, later):
        if at is None or not _may_be_its(w, amounts[at], begins, ends):
            continue
        value = amounts[at].readings[0].value
        known = tuple(Reading(r.kind, value * r.value, r.unit) for r in readings)
        return [replace(a, readings=known) if i == at else a for i, a in enumerate(amounts)]
    return amounts


def _may_be_its(w: Words, of: Amount, begins: int, ends: int) -> bool:
    """Is it a bare number, in the same breath, large enough for a rate?"""
    if len(of.readings) != 1 or of.readings[0].kind != "number" or of.upper is not None or of.readings[0].value < LEAST:
        return False
    between = w.tokens[of.end : begins] if of.end <= begins else w.tokens[ends : of.start]
    if of.start >= ends and _WANTED & set(between):
        return False  # "drops a minute for the 400 in an hour": what is asked for
    return len(between) <= FAR and not _STOPS & set(between)


def _apart(w: Words, amounts: list[Amount]) -> list[tuple[int, int, tuple[Reading, ...]]]:
    """The units of rate that no amount took: where each begins and ends, and what one of it is."""
    taken = {at for a in amounts for at in range(a.start, a.end)}
    found, at = [], 0
    while at < len(w.tokens):
        one = None if at in taken else _unit(w, at)
        if one is not None and not _asked_for(w, at):
            found.append((at, *one))
        at = at + 1 if one is None else one[0]
    return found


def _asked_for(w: Words, at: int) -> bool:
    """ "What's that in mL a minute?" gives no number its unit; "it's in mL a minute" does."""
    told = w.tokens[at - 1 : at] == ["in"] and w.tokens[max(0, at - 2) : at - 1] and w.tokens[at - 2] in _TOLD
    return at > 0 and w.tokens[at - 1] in _ASKED and not told


def _unit(w: Words, at: int) -> tuple[int, tuple[Reading, ...]] | None:
    """ "mL per minute", "per minute": where it ends, and its readings."""
    unit = lexicon().unit.at(w.tokens, at)
    per = per_time(w, unit[0] if unit is not None else at)
    if per is None and unit is not None and w.tokens[unit[0] : unit[0] + 2] == ["in", "hour"]:
        per = unit[0] + 2, "h"  # "840 on the pump, ml in hour"
    if per is None:
        return None
    if unit is None:  # "a minute" alone is said of many things
        bare = w.tokens[at] == "per" and per[1] == "min"
        return (per[0], (Reading("rate", Decimal(1), "mL/min"),)) if bare else None
    if unit[1].kind == "drops" and per[1] in _DROPS:
        return per[0], (Reading("drops", Decimal(1), _DROPS[per[1]]),)
    rate = RATES.get((unit[1].unit, per[1]))
    return (per[0], (Reading("rate", Decimal(rate[1]), rate[0]),)) if rate else None
