"""A day's water goal told beside the sum: "my doctor's on about 1900 a day". It is no amount of formula."""

from __future__ import annotations

from assistant.gather._amounts import day_volume
from assistant.numbers.number_pairs import beside
from assistant.slots import Slots

PLAINLY = 0.9  # "he wants 1800 mL of water in her": a goal, though it is water


def goal_told(slots: Slots) -> None:
    """The amount that was taken for formula is the goal, where it is the plan's own, or said to be what they want."""
    flush = slots.spoken.get("flush")
    if flush is not None and "goal" not in slots.spoken and flush.roles.get("goal", 0.0) >= PLAINLY:
        slots.spoken["goal"], slots.used["goal"] = slots.spoken.pop("flush"), slots.used.pop("flush")
    plan, spoken = slots.night.plan, slots.spoken.get("volume")
    if spoken is None or "goal" in slots.spoken or plan is None:
        return
    value = slots.used["volume"].value
    own = value == plan.water_goal and value != day_volume(slots)
    wanted = beside("they_want").search(spoken.before) and spoken.after.startswith(("a day", "per day", "daily"))
    if own or (wanted and value != day_volume(slots)):
        slots.spoken["goal"], slots.used["goal"] = slots.spoken.pop("volume"), slots.used.pop("volume")
