""" "Off ten till half eleven": a whole hour before "till" and a time with minutes is an hour.

"Ten till eleven" stays as it is: in some mouths that is ten to eleven.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from assistant.message import Amount, Reading

TILL = (("till",), ("til",), ("until",))
LAST_HOUR = 12


def with_hours_till(tokens: Sequence[str], amounts: Sequence[Amount]) -> list[Amount]:
    """The amounts, with an hour for a bare number that can only be one."""
    found = list(amounts)
    for at, (one, other) in enumerate(pairwise(amounts)):
        first, until = one.readings[0], other.readings[0]
        minutes = until.kind == "clock" and int(until.value) % 60 != 0
        if minutes and tuple(tokens[one.end : other.start]) in TILL and _whole_hour(one):
            found[at] = replace(one, readings=(Reading("clock", int(first.value) * 60, "12h"), *one.readings))
    return found


def _whole_hour(amount: Amount) -> bool:
    first = amount.readings[0]
    whole = first.kind == "number" and amount.upper is None and first.value == int(first.value)
    return whole and 1 <= first.value <= LAST_HOUR
