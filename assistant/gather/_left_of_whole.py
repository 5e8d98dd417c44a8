""" "180 of the 300 still to come": what is left is told with the whole it is left of, which plays no further part."""

from __future__ import annotations

from itertools import pairwise

from assistant.number_pairs import OF_WHOLE, part_of_a_whole
from assistant.slots import Slots

OF_WHAT_IS_LEFT = frozenset({"bag_duration", "finish_at", "remaining"})
PLAINLY = 1.0  # how plainly the first number is said to be left, the second to be the whole


def claim_whole(slots: Slots, name: str) -> None:
    """Set the whole aside for a sum that counts with what is left of it."""
    for part, whole in pairwise(slots.said.spoken if name in OF_WHAT_IS_LEFT else ()):
        left = part.roles.get("left", 0.0) > PLAINLY and whole.roles.get("total", 0.0) > PLAINLY
        if left and OF_WHOLE.fullmatch(whole.before) and part_of_a_whole(part.amount, whole.amount):
            slots.spoken["whole"] = whole
