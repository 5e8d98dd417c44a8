"""Do the numbers on the pump, or measured out, match the order?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.gather._shared import feed, ordered_rate, volume_of, which_feed
from assistant.slots import Slots
from assistant.wants import Ask, Want


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(rate=Want("rate", ("rate",)), volume=Want("volume", ("total", "left", "hung", "given")))
    plan, of = slots.night.plan, feed(slots)
    rate, volume = slots.get("rate"), slots.get("volume")
    if rate is None and volume is None:
        raise Ask("rate")
    ordered, planned = ordered_rate(slots), volume_of(slots, of)
    if of is None or (rate is not None and ordered is None) or (volume is not None and planned is None):
        raise which_feed(slots, "rate")
    slots.fill(
        "ordered_rate" if rate is not None else "ordered_volume", ordered if rate is not None else planned, "care plan"
    )
    return {
        "rate": rate,
        "volume": volume,
        "plan_rate": ordered,
        "plan_volume": planned,
        "kit_highest": plan.equipment.pump_highest_rate if plan else None,
    }
