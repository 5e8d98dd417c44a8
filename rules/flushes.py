"""How many flushes a day holds."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import ROUND_CEILING, Decimal

from rules.quantity import Quantity, number, qty

DAY = qty(24, "h")


@dataclass(frozen=True)
class Flushing:
    """When the plan wants a flush. `running` is the running time of each feed, for `every`."""

    before_feed: bool = False
    after_feed: bool = False
    feeds: int = 0
    medicines: int = 0
    every: Quantity | None = None
    running: tuple[Quantity, ...] = ()


def while_running(running: Quantity, every: Quantity) -> Quantity:
    """Flushes (count) at an interval while a feed runs, its start and end not counted.

    A feed round the clock has no start or end: 24 h divided by the interval, which need not be whole.
    """
    turns = (running / every).to("")
    if running >= DAY:
        return qty(number(DAY / every, "1"), "1")
    inside = number(turns, "1").to_integral_value(rounding=ROUND_CEILING) - 1
    return qty(max(inside, Decimal(0)), "1")


def flushes_a_day(plan: Flushing) -> Quantity:
    """All flushes of a day (count): around each feed, with each medicine, and at the interval while a feed runs."""
    times = qty(plan.feeds * (plan.before_feed + plan.after_feed) + plan.medicines, "1")
    if plan.every is not None:
        times = sum((while_running(time, plan.every) for time in plan.running), times)
    return times
