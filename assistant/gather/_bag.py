"""What is in the bag: a part of it that was said, what the log leaves in it, and what fills the line."""

from __future__ import annotations

import re

from assistant.slots import Slots
from assistant.wants import Ask, Used, size_of
from rules.quantity import Quantity, qty

GONE = ("gone", "empty", "used", "finished", "through", "down", "went", "given", "delivered")
OF_A_PART = re.compile(rf"\b(?:{'|'.join(GONE)}|left|full|remaining|still|to go)\b")


def left_by_log(slots: Slots) -> Quantity | None:
    """What is left of the feed that runs by the log."""
    state = slots.night.state
    if state is None or not state.running:
        return None
    return slots.fill("volume", state.left, "feed log") if state.left is not None else None


def share_gone(slots: Slots, name: str = "volume") -> None:
    """ "The litre bag is half gone": what is left is the rest of it."""
    spoken = slots.spoken.get(name)
    if spoken is None or spoken.amount.readings[0].kind not in ("share", "percent"):
        return
    reading = spoken.amount.readings[0]
    part = reading.value / (100 if reading.kind == "percent" else 1)
    whole = next(
        (
            qty(r.value, r.unit)
            for s in slots.said.spoken
            for r in s.amount.readings
            if r.kind == "volume" and s.roles.get("bag", 0) > 0.4
        ),
        None,
    )
    whole = whole if whole is not None else size_of(reading.unit or "bag", slots.night)
    if whole is None:
        raise Ask("volume")
    state = OF_A_PART.search(spoken.after)
    gone = state is not None and state.group() in GONE
    slots.used[name] = Used((whole * (1 - part if gone else part)).to("mL"), "question", spoken.amount.text)


def priming(slots: Slots) -> Quantity | None:
    """The priming volume to take off: only for what was hung or poured fresh on a dry set."""
    plan = slots.night.plan
    spoken = slots.spoken.get("volume")
    if plan is None or plan.equipment.priming_volume is None or spoken is None:
        return None
    if slots.said.has("primed", "already primed", "wet set", "after priming"):
        return None
    fresh = spoken.roles.get("hung", 0.0) - max(spoken.roles.get("left", 0.0), 0.0)
    if fresh > 0.3 or slots.said.has("dry set", "dry tubing", "dry line", "fresh set", "new set"):
        slots.fill("priming_volume", plan.equipment.priming_volume, "care plan")
        return plan.equipment.priming_volume
    return None
