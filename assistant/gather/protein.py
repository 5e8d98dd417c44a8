"""Protein in an amount of formula."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from assistant.gather._amounts import AMOUNT, amount
from assistant.gather._answered import bare_answer
from assistant.gather._had import asks_what_was_had, formula_had, whole_feed
from assistant.numbers.wants import Want
from assistant.slots import Slots


def gather(slots: Slots) -> Mapping[str, Any]:
    bare_answer(slots, "protein_density", "g/L", "5", "200")
    slots.assign(**AMOUNT, protein_density=Want("concentration", bare=False))
    plan = slots.night.plan
    had = asks_what_was_had(slots) and slots.get("volume") is None
    volume = whole_feed(slots) or (formula_had(slots) if had else amount(slots))
    said = slots.get("protein_density")
    if said is not None and "protein_density" in slots.spoken:
        slots.used["protein_density"] = replace(slots.used["protein_density"], value=said.to("g/L"))  # "8 g per 100 mL"
    if plan is not None and said is None:
        slots.fill("protein_density", plan.formula.protein, "care plan")
    return {"volume": volume, "content": slots.need("protein_density")}
