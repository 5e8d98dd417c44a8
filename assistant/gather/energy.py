"""Energy in an amount of formula."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.gather._amounts import AMOUNT, amount
from assistant.gather._answered import bare_answer
from assistant.gather._counts import said_count
from assistant.gather._had import asks_what_was_had, formula_had, whole_feed
from assistant.numbers.wants import Used, Want
from assistant.slots import Slots
from rules.quantity import qty

KILOJOULES = (r"k ?js?", r"kilo ?joules?", r"joules?")


def gather(slots: Slots) -> Mapping[str, Any]:
    bare_answer(slots, "energy_density", "kcal/mL", "0.3", "4")
    slots.assign(
        **AMOUNT, density=Want("density", (), bare=False), each=Want("energy", ("container", "total"), bare=False)
    )
    plan, each = slots.night.plan, slots.get("each")
    unit = "kJ" if slots.said.has(*KILOJOULES) else "kcal"
    density = slots.get("density")
    if density is None and "energy_density" in (*slots.spoken, *slots.carried):
        density = slots.get("energy_density")  # asked back before, and answered
    if density is None and each is not None:
        count = said_count(slots, "container", "bottle", "bag", "feed", "meal")
        if count is not None:  # "three at 355 kcal each": the label's energy of one, not the plan's formula
            slots.used["count"] = Used(count, "question")
            return {"pieces": qty(count, "1"), "each": each, "unit": unit}
    if density is None and plan is not None:
        density = slots.fill("energy_density", plan.formula.energy, "care plan")
    had = asks_what_was_had(slots) and slots.get("volume") is None
    volume = whole_feed(slots) or (formula_had(slots) if had else amount(slots))
    return {
        "volume": volume,
        "density": slots.need("energy_density") if density is None else density,
        "unit": unit,
    }
