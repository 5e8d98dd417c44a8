"""How much fills the line."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.numbers.wants import Ask, Want
from assistant.slots import Slots


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(priming=Want("volume", ("priming",)))
    plan, told = slots.night.plan, slots.spoken.get("priming")
    if told is not None and told.roles.get("missed_amount", 0.0) > told.roles.get("priming", 0.0):
        slots.spoken.pop("priming")  # "lost about 10 mL bleeding it": asked about, and not what it holds
        slots.used.pop("priming")
    found = slots.get("priming")
    if found is None and plan is not None:
        found = slots.fill("priming", plan.equipment.priming_volume, "care plan")
    if found is None:
        raise Ask("priming_volume")
    return {"priming": found}
