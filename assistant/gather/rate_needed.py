"""What rate gives an amount within a time: the sum only; the care team sets rates."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.gather._shared import (
    FINISH,
    NOW,
    OVER,
    START,
    check_entry,
    feed,
    limits,
    now,
    ordered_rate,
    start,
    volume_of,
)
from assistant.slots import Ask, Slots, Want
from rules.clock import between


def span(slots: Slots) -> Any:
    """The time there is: said, or from now (or the start said) to the finish said."""
    over = slots.get("over")
    if over is not None:
        return over
    finish = slots.instant("finish", "future")
    if finish is None:
        return None
    begins = start(slots, when="nearest") if slots.has("start") else None
    if begins is not None and begins < finish:
        return slots.fill("over", _between(begins, finish), "question")
    slots.fill("now", now(slots), "clock")
    return slots.fill("over", _between(now(slots), finish), "question")


def _between(begins: Any, finish: Any) -> Any:
    return between(begins, finish)


def volume(slots: Slots) -> Any:
    """The amount: said, or what is left by the log, or the whole feed."""
    found, of = slots.get("volume"), feed(slots)
    if found is not None:
        check_entry(slots, "volume", found, volume_of(slots, of))
        return found
    state = slots.night.state
    if state is not None and state.running and state.left is not None:
        return slots.fill("volume", state.left, "feed log")
    return slots.fill("volume", volume_of(slots, of), "care plan")


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(volume=Want("volume", ("total", "left", "hung")), over=OVER, finish=FINISH, start=START, now=NOW)
    over = span(slots)
    amount = volume(slots)
    if amount is None:
        raise Ask("volume")
    if over is None:
        raise Ask("over")
    plan = slots.night.plan
    return {
        "volume": amount,
        "over": over,
        "ordered": ordered_rate(slots),
        "pump_step": plan.equipment.pump_step if plan else None,
        **limits(slots),
    }
