"""Slips of hand and ear: a number that is ten times, a tenth, a digit swap or a rate-for-volume swap of the plan's.

Asked about before anything is computed from it. Source: Lesar, Ann Pharmacother 2002, on tenfold slips (memory).
"""

from __future__ import annotations

from decimal import Decimal

from rules.limits import possible
from rules.quantity import Quantity, number

#: every code that `slip` and `check_settings` give, and its meaning
SLIPS = {
    "tenfold": "ten times the plan's",
    "tenth": "a tenth of the plan's",
    "hundredfold": "a hundred times the plan's",
    "hundredth": "a hundredth of the plan's",
    "swapped": "the plan's other number: its volume where the rate belongs, or its rate where the volume belongs",
    "digit_swap": "the plan's digits in another order",
    "above_kit": "above the highest that the pump can be set to",
    "impossible": "outside what can be true",
    "other": "not the plan's, and no slip that we know",
}

TIMES = {Decimal(10): ("tenfold", "tenth"), Decimal(100): ("hundredfold", "hundredth")}


def slip(
    entered: Quantity, planned: Quantity | None, *, other: Quantity | None = None, kit_highest: Quantity | None = None
) -> str | None:
    """The slip that `entered` looks like, or None.

    `planned` is the plan's value for it, `other` the plan's volume where a rate was entered and the reverse,
    `kit_highest` the pump's highest rate. A value that is the plan's is never a slip; one that differs from it in no
    way listed is None too ("other" is said by check_settings alone).
    """
    unit = "mL/h" if entered.check("[volume]/[time]") else "mL" if entered.check("[volume]") else "kcal/mL"
    value = number(entered, unit)
    plan = None if planned is None else number(planned, unit)
    if value == plan:
        return None
    found = None if plan is None else _of_plan(value, plan)
    if found is not None and found != "digit_swap":
        return found
    if other is not None and value == number(other, "mL" if unit == "mL/h" else "mL/h"):
        return "swapped"
    if found is not None:
        return found
    if unit == "mL/h" and kit_highest is not None and entered > kit_highest:
        return "above_kit"
    low, high = possible("check_settings", {"mL/h": "rate", "mL": "volume"}.get(unit, "density"))
    return None if low <= entered <= high else "impossible"


def _of_plan(value: Decimal, plan: Decimal) -> str | None:
    for times, (more, less) in TIMES.items():
        if value == plan * times:
            return more
        if plan == value * times:
            return less
    return "digit_swap" if _swapped_digits(value, plan) else None


def _swapped_digits(value: Decimal, plan: Decimal) -> bool:
    """The same digits, as many before the point, in another order."""
    one, other = f"{value.normalize():f}", f"{plan.normalize():f}"
    return one.find(".") == other.find(".") and len(one) == len(other) and sorted(one) == sorted(other)
