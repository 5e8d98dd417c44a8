"""What plan_reader read -> CarePlan, with amounts as Pint quantities. Called by care_plan.read_plan."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

from assistant.household.care_plan import (
    CarePlan,
    CatchUp,
    Contacts,
    Equipment,
    Feed,
    Flushes,
    Formula,
    Limits,
    Person,
    RateStep,
    Recipe,
    Supplies,
    Tube,
)
from assistant.household.plan_amounts import Amount
from assistant.household.plan_reader import Values


def care_plan(values: Values, path: Path | None) -> CarePlan:
    """The values that plan_reader read, frozen, with their amounts as Pint quantities."""
    v = _with_quantities(values)
    formula, limits, kit = v["formula"], v.get("limits", {}), v.get("equipment", {})
    battery, flushes = kit.pop("battery", {}), v.get("flushes", {})
    times = flushes.pop("when", None)
    recipe, catch_up = formula.pop("recipe", None), limits.pop("catch_up", None)
    free_water = formula.pop("free_water", None)
    return CarePlan(
        route=v["route"], timezone=v["timezone"], units=v.get("units"), issued=v.get("issued"),
        review_by=v.get("review_by"), water_goal=v.get("water_goal"), path=path,
        person=Person(**v.get("person", {})),
        tube=Tube(**v.get("tube", {})),
        formula=Formula(**formula, recipe=None if recipe is None else Recipe(**recipe),
                        free_water=None if free_water is None else free_water.magnitude / Decimal(100)),
        feeds=tuple(Feed(**{"name": f"feed {n}", **feed}) for n, feed in enumerate(v["feeds"], 1)),
        limits=Limits(**limits, catch_up=CatchUp(**catch_up) if catch_up else None),
        steps=tuple(RateStep(start=step["from"], rate=step["rate"]) for step in v.get("steps", [])),
        flushes=Flushes(**flushes, **({"when": times.when, "every": _quantity(times.every)} if times else {})),
        equipment=Equipment(**kit, battery_lasts=battery.get("lasts"), battery_at=battery.get("at")),
        supplies=Supplies(**v.get("supplies", {})),
        contacts=Contacts(**v.get("contacts", {})),
    )


def _quantity(amount: Amount | None) -> Any:
    from rules.quantity import qty  # loads Pint: only where a plan is built, not where it is checked
    return None if amount is None else qty(amount.number, amount.unit)


def _with_quantities(value: Any) -> Any:
    """A copy with every Amount as a quantity; tables and lists are copied, so that nothing read is changed."""
    if isinstance(value, Amount):
        return _quantity(value)
    if isinstance(value, dict):
        return {name: _with_quantities(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [_with_quantities(inner) for inner in value]
    return value
