"""A number begun in the place of a time of day and broken off for one: "started at fifty, no sorry, five past nine".

It may have been the rate all the same: near a rate of the plan it is asked about, elsewhere it plays no part.
"""

from __future__ import annotations

from decimal import Decimal
from itertools import pairwise

from assistant.message import Amount, Heard
from assistant.night import Night
from assistant.numbers.number_pairs import beside, takes_back

ROLE = "false_start"
PLAINLY = 0.9
MOST = 100  # more than the minutes of an hour, for it may have been the rate
LOW, HIGH = Decimal("0.5"), 2  # times an ordered rate: between these a number may be one


def false_starts(heard: Heard) -> set[int]:
    """Which of the numbers of `heard` were broken off for the time of day right after them."""
    found = set()
    for i, (one, other) in enumerate(pairwise(heard.amounts)):
        before = " ".join(heard.tokens[max(0, one.start - 6) : one.start])
        between = " ".join(heard.tokens[one.end : other.start])
        alike = _is_bare(one) and all(r.kind == "clock" for r in other.readings)
        if alike and takes_back(between) and beside("begun_at").search(before):
            found.add(i)
    return found


def _is_bare(amount: Amount) -> bool:
    first = amount.readings[0]
    return len(amount.readings) == 1 and first.kind == "number" and first.value < MOST and amount.upper is None


def broken_off(roles: dict[str, float]) -> bool:
    return roles.get(ROLE, 0.0) > PLAINLY


def may_be_the_rate(amount: Amount, night: Night) -> bool:
    """Is a number near an ordered rate, or inside the plan's limits, and another one? Without a plan it may be."""
    if night.plan is None or not night.ordered_rates:
        return True
    if amount.readings[0].value in night.ordered_rates:
        return False  # either way the same is counted with
    value, limits = Decimal(amount.readings[0].value), night.plan.limits
    low, high = limits.lowest_rate, limits.highest_rate
    if low is not None and high is not None and low.magnitude <= value <= high.magnitude:
        return True
    return any(LOW <= value / rate <= HIGH for rate in night.ordered_rates)
