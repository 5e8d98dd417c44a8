"""How much a bag holds, told beside what is to be poured: "bag 500", "our bags are the 500 ones"."""

from __future__ import annotations

from assistant.numbers.number_pairs import beside
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Used, measure
from assistant.slots import Slots


def bag_told(slots: Slots) -> None:
    """Take the size of the bag: it was once taken for what is to be given."""
    told = [s for s in slots.said.spoken if _is_its_size(s, slots)]
    reading = told[0].reading("volume", "number") if len(told) == 1 else None
    if reading is not None:
        slots.spoken["bag"] = told[0]
        slots.used["bag"] = Used(measure("volume", reading, slots.night), "question", told[0].amount.text)


def _is_its_size(spoken: Spoken, slots: Slots) -> bool:
    """By its own words; or as large as the plan's bag, right after the word."""
    reading, plan = spoken.reading("volume", "number"), slots.night.plan
    if reading is None or reading.value < LEAST or beside("hangs_in_it").match(spoken.after):
        return False
    if beside("bag_size_before").search(spoken.before) or beside("bag_size_after").match(spoken.after):
        return True
    if beside("bags_are").search(spoken.before) and spoken.after.startswith(("one", "size", "kind", "sort")):
        return True
    size = plan.equipment.bag if plan is not None else None
    alike = size is not None and measure("volume", reading, slots.night) == size
    return alike and bool(beside("bag_before").search(spoken.before))


LEAST = 50  # mL: no feeding bag is smaller
