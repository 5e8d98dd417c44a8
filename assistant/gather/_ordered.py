"""What the plan orders for a run: when it begins, later as was told, and the rate that was in force then."""

from __future__ import annotations

from datetime import datetime

from assistant.gather._when import planned_start
from assistant.household.care_plan import Feed
from assistant.night import feed_rate
from assistant.slots import Slots
from rules.clock import later
from rules.quantity import Quantity
from rules.steps import rate_at

WENT_UP = (
    r"(?:went|got|was put|put|started|began|hung|gone|came) (?:\w+ )?(?:up|on|in|going|late|at|started|\d)", "started",
    "began",
)


def planned(slots: Slots, of: Feed, late: Quantity | None) -> datetime | None:
    """The plan's start, so much later as was told ("went up 35 min late")."""
    told_past = late is not None and slots.said.has(*WENT_UP) and slots.day() is None
    when = "past" if told_past else "nearest"
    begins: datetime | None = slots.fill("start", planned_start(slots, of, when), "care plan")
    return later(begins, late) if begins is not None and late is not None else begins


def ordered_then(slots: Slots, of: Feed | None, runs_at: Quantity | None, begins: datetime) -> Quantity | None:
    """The rate that was ordered when it began; a step of since is counted on the way."""
    plan = slots.night.plan
    if runs_at is None or plan is None or not plan.ordered_steps or slots.used["rate"].origin != "care plan":
        return runs_at
    ordered = feed_rate(of) if of is not None and of.method == "pump" else None
    at_start = rate_at(plan.ordered_steps, begins, first=ordered)
    return runs_at if at_start is None else slots.fill("rate", at_start, "care plan")
