""" "180 of the 300 still to come", "120 of the 300 gone": what is left is told, or what went in, with the whole."""

from __future__ import annotations

from itertools import pairwise

from assistant.numbers.number_pairs import OF_WHOLE, beside, part_of_a_whole
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Used, measure
from assistant.slots import Slots

OF_WHAT_IS_LEFT = frozenset({"bag_duration", "finish_at", "remaining"})
PLAINLY = 1.0  # how plainly the first number is said to be left, or given, and the second to be the whole


def claim_whole(slots: Slots, name: str) -> None:
    """Set the whole aside for a sum that counts with what is left of it; what went in is taken from it first."""
    for part, whole in pairwise(slots.said.spoken if name in OF_WHAT_IS_LEFT else ()):
        of_it = OF_WHOLE.fullmatch(whole.before) and part_of_a_whole(part.amount, whole.amount)
        if not of_it or whole.roles.get("total", 0.0) <= PLAINLY:
            continue
        if part.roles.get("left", 0.0) > PLAINLY:
            slots.spoken["whole"] = whole
        elif _gone(part, whole) and name != "remaining":  # that sum takes the two by themselves
            gone, held = (measure("volume", s.amount.readings[0], slots.night) for s in (part, whole))
            slots.spoken["gone"], slots.spoken["volume"] = part, whole
            slots.used["volume"] = Used((held - gone).to("mL"), "question", f"{part.amount.text}, {whole.amount.text}")
            slots.worked_out.add("volume")


def _gone(part: Spoken, whole: Spoken) -> bool:
    """Is the first number what went in? "How long will 180 of the 300 take?" says nothing of it."""
    told = beside("went_in").search(f"{part.before} # {whole.after}")
    return told is not None and part.roles.get("given", 0.0) > PLAINLY
