"""What one container holds, told by the words around it and not as its size."""

from __future__ import annotations

import re
from decimal import Decimal

from assistant.numbers.wants import Used, measure
from assistant.slots import Slots
from rules.quantity import qty

IN_THEM = re.compile(
    r"\b(?:in|of|into|from|by)(?: (?:the|them|those|these|our|his|her|my|their|wee|little|small|big|new))+$"
)
A_SIZE = 90  # mL; hardly a number of containers
HOW_MANY = re.compile(r"\bhow many(?: more)?(?: of)?(?: (?:the|these|those|them|our|my|his|her|your|big|new))*$")
CONTAINERS = ("bag", "bottle", "carton", "can", "tin", "pack", "pouch", "box")


OF_THE_SIZE = re.compile(r"of (?:the|them|those|our|her|his|my)(?: \w+)?$")


def counted_by_size(slots: Slots) -> tuple[Decimal, None] | None:
    """ "47 of the two hundreds in it": so many containers of that size, where the plan's are of it; none a day."""
    plan = slots.night.plan
    size = plan.formula.container if plan is not None else None
    for many, of in zip(slots.said.spoken, slots.said.spoken[1:], strict=False):
        held = of.reading("volume", "number")
        if held is None or many.reading("number") is None or not OF_THE_SIZE.fullmatch(of.before):
            continue
        if size is not None and measure("volume", held, slots.night) == size:
            slots.spoken |= {"stock": many, "container": of}
            slots.used["stock"] = Used(Decimal(many.amount.readings[0].value), "question", many.amount.text)
            slots.used["container"] = Used(size, "question", of.amount.text)
            return slots.used["stock"].value, None
    return None


def called_by_its_size(slots: Slots) -> None:
    """ "What's 750 in them 200 boxes?": what one of them holds, not how many there are."""
    for spoken in slots.said.spoken:  # "how many of the litre bags": no litre is asked about
        told = spoken.reading("volume", "number")
        if told is not None and HOW_MANY.search(spoken.before) and spoken.after.startswith(CONTAINERS):
            slots.spoken["container"] = spoken
            slots.used["container"] = Used(measure("volume", told, slots.night), "question", spoken.amount.text)
            return
    counted = [s for s in slots.said.spoken if s.amount.readings[0].kind == "count"]
    others = [s for s in slots.said.spoken if s not in counted and s.reading("volume", "number")]
    if len(counted) != 1 or not others:
        return
    of, value = counted[0], counted[0].amount.readings[0].value
    if value >= A_SIZE and IN_THEM.search(of.before):
        slots.spoken["container"] = of
        slots.used["container"] = Used(qty(value, "mL"), "question", of.amount.text)
