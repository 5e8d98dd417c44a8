"""A whole one and a part of the next: "one full carton and 60 out of the second"; a part of one: "400 of 576"."""

from __future__ import annotations

from decimal import Decimal

from assistant.numbers.number_pairs import beside
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, measure
from assistant.numbers.weighed_roles import WHOLE
from assistant.slots import Slots
from rules.quantity import Quantity, qty

THINGS = ("container", "bag", "bottle")


def whole_and_part(slots: Slots, name: str) -> Quantity | None:
    """What the whole ones and the part come to together; None where no part of a further one is told.

    Asked where a part is told beside words for a whole, and how many those are is not plain.
    """
    parts = [s for s in slots.said.spoken if s.reading("volume", "number") and _of_the_next(s)]
    others = [s for s in slots.said.spoken if s not in parts and s.amount.readings[0].kind == "volume"]
    if len(parts) != 1 or others:
        return None
    part = parts[0]
    before = " ".join(slots.said.heard.tokens[: part.amount.start])
    whole = _wholes(before, part, slots)
    if whole is None and not beside("a_whole_told").search(before):
        return None
    if whole is None:
        raise Ask("volume", code="how_much_in")
    told = part.reading("volume", "number")
    assert told is not None
    more = measure("volume", told, slots.night)
    for taken in [n for n, s in slots.spoken.items() if s is part]:
        slots.spoken.pop(taken)
        slots.used.pop(taken, None)
    slots.spoken["part"], slots.used["part"] = part, Used(more, "question", part.amount.text)
    slots.used[name] = Used((whole + more).to("mL"), "question")
    found: Quantity = slots.used[name].value
    return found


def _of_the_next(spoken: Spoken) -> bool:
    led = "of " if spoken.amount.text.endswith(" of") else ""  # "80 mL of" is one amount
    return bool(beside("part_of_next").match(led + spoken.after))


def _wholes(before: str, part: Spoken, slots: Slots) -> Quantity | None:
    """So many containers that were told before the part, or the one that the words call whole."""
    found = beside("one_whole").search(before)
    many, thing = Decimal(1), found["thing"].rstrip("s") if found is not None else ""
    for spoken in slots.said.spoken:
        count = spoken.reading("count")
        if count is not None and count.unit in THINGS and spoken.amount.start < part.amount.start:
            many, thing = Decimal(count.value), count.unit
            slots.spoken["count"] = spoken
    if not thing or many != int(many):
        return None
    if thing.startswith(("litre", "liter")):
        return qty(1, "L")
    plan = slots.night.plan
    if plan is None or plan.formula.container is None or (thing == "bag" and plan.formula.form != "closed_bag"):
        raise Ask("container")
    size: Quantity = slots.fill("container", plan.formula.container, "care plan")
    come_to: Quantity = (size * many).to("mL")
    return come_to


def part_of_a_whole(slots: Slots) -> bool:
    """ "Somebody shut it off at half four, she only had 400 of her 576": what is short is known, whenever that was."""
    part, whole = slots.spoken.get("given"), slots.spoken.get("missed")
    if "part_of_it" in slots.carried and {"given", "missed"} <= slots.carried.keys() | slots.used.keys():
        slots.used["part_of_it"] = slots.carried["part_of_it"]
        return True
    if part is None or whole is None or slots.used["given"].value >= slots.used["missed"].value:
        return False
    if min(part.roles.get("given", 0.0), whole.roles.get("total", 0.0)) < WHOLE:
        return False
    for spoken in slots.unused():
        if spoken.roles.get("ended", 0.0) >= WHOLE:
            slots.spoken["ended"] = spoken
    if {"off", "off_to"} & slots.spoken.keys():
        return False
    slots.used["part_of_it"] = Used(True, "question")
    return True
