"""How a rate stands to what the care team ordered. A rate outside the order is never advised; the team decides."""

from __future__ import annotations

from dataclasses import dataclass

from rules.quantity import Quantity


@dataclass(frozen=True)
class AgainstOrder:
    """`within_plan` is None where the plan holds neither limits nor a rate to compare with."""

    within_plan: bool | None
    defers: bool
    remarks: tuple[str, ...]


def against_order(
    rate: Quantity, lowest: Quantity | None, highest: Quantity | None, ordered: Quantity | None,
    family_may_change: bool,
) -> AgainstOrder:
    """Compare a rate with the plan's limits and its ordered rate.

    Without limits the ordered rate is the only one that the plan allows. Remarks: `outside_plan_limits`,
    `differs_from_order`, `same_as_ordered`, `no_limits_in_plan`.
    """
    remarks = []
    same = ordered is not None and rate == ordered
    if lowest is None and highest is None:
        within = None if ordered is None else same
        if ordered is not None and not same:
            remarks.append("no_limits_in_plan")
    else:
        within = (lowest is None or rate >= lowest) and (highest is None or rate <= highest)
        if not within:
            remarks.append("outside_plan_limits")
    bounded = lowest is not None and highest is not None
    may = family_may_change and bounded and within is True
    if same:
        remarks.append("same_as_ordered")
    elif ordered is not None and not may:
        remarks.append("differs_from_order")
    defers = (within is False) or (ordered is not None and not same and not may)
    return AgainstOrder(within, defers, tuple(remarks))
