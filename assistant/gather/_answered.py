"""The number that answers what was asked back, where only the question says what it is ("it's a one point five")."""

from __future__ import annotations

from decimal import Decimal

from assistant.numbers.wants import Used
from assistant.slots import Slots
from rules.quantity import Quantity, qty


def bare_answer(slots: Slots, asks: str, unit: str, low: str, high: str) -> Quantity | None:
    """The one bare number within the bounds, as the value of `asks`; None where that was not asked, or none fits."""
    if slots.favours != asks or asks in slots.used or asks in slots.carried:
        return None
    told = [
        s
        for s in slots.said.spoken
        if s.amount.readings[0].kind == "number" and Decimal(low) <= s.amount.readings[0].value <= Decimal(high)
    ]
    per = [s for s in slots.said.spoken if (r := s.reading("volume")) is not None and r.value == 1]  # "60 a litre"
    if len(told) != 1 or len(slots.said.spoken) != 1 + len(per):
        return None
    slots.spoken.update({f"per_{at}": s for at, s in enumerate(per)})
    slots.spoken[asks] = told[0]
    slots.used[asks] = Used(qty(told[0].amount.readings[0].value, unit), "question", told[0].amount.text)
    found: Quantity = slots.used[asks].value
    return found
