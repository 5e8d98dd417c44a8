"""A value told right after a sum that can be but one of its values: the same sum with that value.

"This packet gives 20 to the mL", after drops; "take the wellies off, that's 22", after an amount for each kilogram;
"found another 12 behind the boiler", after the supplies: more of them.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from assistant.dialogue import Talk
from assistant.follow.following import standing
from assistant.follow.turns import Question, after_a_sum, pattern
from assistant.message import Amount, Heard, Reading
from assistant.numbers.wants import Used
from rules.quantity import is_amount, number, qty, unit_of

MOST_WORDS = 24
NEARLY = (Decimal("0.75"), Decimal("1.33"))  # a bare number this near the weight of before is a weight


def by_its_kind(text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...]) -> Question | None:
    """The sum just answered with the one number told; None where it may be something else, or more is asked."""
    told = [a for a in heard.amounts if a.readings[0].kind not in ("day", "date")]
    if not after_a_sum(talk) or len(told) != 1 or heard.unread or len(heard.tokens) > MOST_WORDS:
        return None
    if pattern("asks_by_itself").search(pattern("now_then").sub("", pattern("what_if").sub("", text))):
        return None
    kept = talk.slots if talk.question == "syringe" else standing(text, heard, talk, feeds)
    value = OF_A_SUM.get(str(talk.question), _nothing)(told[0], text, talk)
    if value is not None:
        slot, amount = value
        kept = {**kept, slot: Used(amount, "question", told[0].text)}
        return Question(str(talk.question), carried=kept, follows=True, counts="")
    return None


def _nothing(_amount: Amount, _text: str, _talk: Talk) -> tuple[str, Any] | None:
    return None


def _factor(amount: Amount, _text: str, _talk: Talk) -> tuple[str, Any] | None:
    reading = _of_kind(amount, "drop_factor")
    return None if reading is None else ("drop_factor", qty(reading.value, reading.unit))


def _weight(amount: Amount, _text: str, talk: Talk) -> tuple[str, Any] | None:
    before, mass = talk.slots.get("weight"), _of_kind(amount, "mass")
    if mass is not None:
        return "weight", qty(mass.value, mass.unit)
    first = amount.readings[0]
    if before is None or not is_amount(before.value) or first.kind != "number":
        return None
    unit = unit_of(before.value)
    weighed = number(before.value, unit)
    return ("weight", qty(first.value, unit)) if NEARLY[0] * weighed <= first.value <= NEARLY[1] * weighed else None


def _stock(amount: Amount, text: str, talk: Talk) -> tuple[str, Any] | None:
    """More of them than were counted; a container's size, or days, is none."""
    first, before = amount.readings[0], talk.slots.get("stock")
    counted = first.kind == "number" or (first.kind == "count" and first.unit in ("container", "bag", "bottle"))
    if before is None or is_amount(before.value) or not counted or not pattern("found_more").search(text):
        return None
    return "stock", Decimal(before.value) + Decimal(first.value)


def _water(amount: Amount, text: str, talk: Talk) -> tuple[str, Any] | None:
    """ "She sips about 200 of plain water at nursery, with that?": on top of what was summed."""
    volume, before = _of_kind(amount, "volume") or _of_kind(amount, "number"), talk.slots.get("extra_water")
    if volume is None or not pattern("water_on_top").search(text) or pattern("each_flush").search(text):
        return None
    more = qty(volume.value, volume.unit or "mL")
    return "extra_water", more if before is None else (before.value + more).to("mL")


def _size(amount: Amount, text: str, _talk: Talk) -> tuple[str, Any] | None:
    """ "We only have 35 mL ones": what a syringe holds."""
    volume = _of_kind(amount, "volume") if pattern("of_that_size").search(text) else None
    return None if volume is None else ("syringe", qty(volume.value, volume.unit))


def _of_kind(amount: Amount, kind: str) -> Reading | None:
    return next((r for r in amount.readings if r.kind == kind), None)


OF_A_SUM = {"drops": _factor, "per_kg": _weight, "supply": _stock, "syringe": _size, "water": _water}
