"""Protein in an amount of formula."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.gather._amounts import VOLUME, amount
from assistant.slots import Slots
from assistant.wants import Want


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(volume=VOLUME, protein_density=Want("concentration", bare=False))
    plan = slots.night.plan
    volume = amount(slots)
    if plan is not None and slots.get("protein_density") is None:
        slots.fill("protein_density", plan.formula.protein, "care plan")
    return {"volume": volume, "content": slots.need("protein_density")}
