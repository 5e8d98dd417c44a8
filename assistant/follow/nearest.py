"""Is a number said bare another amount of the sum just answered, or one of its values misspelt?"""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from assistant.dialogue import Talk
from assistant.message import Amount, Heard
from assistant.numbers.wants import Used
from rules.quantity import is_amount, qty, unit_of

NEAR, FAR = 2, 4  # times the value of before
AMOUNTS = ("volume", "total", "given", "hung")
OTHERWISE = {"intake": "given", "supply": "stock"}  # the slot that a bare number moves, however near it is to others
OF_A_SIZE, A_SIZE = ("supply", "containers"), 50  # sums in which "the 500s" are containers; mL that one holds at least
OF_A_WHOLE = {"of", "out", "from"}
LAST_HOUR = 12  # a bare number up to here may be an hour
NEAR_PLANNED = Decimal("1.5")  # times: what nobody said is meant only by a number that is nearly it


def another_amount(heard: Heard, talk: Talk) -> bool:
    """Is the one number told another amount of what was counted with, and far from the rate?"""
    told = [r for a in heard.amounts if (r := a.readings[0]).kind not in ("day", "date")]
    if len(told) != 1 or told[0].kind not in ("number", "volume") or told[0].value <= 0:
        return False
    said = _off(told[0].value, talk, "question")
    offs = (_off(told[0].value, talk, origin) for origin in ("question", "care plan"))
    rates = [off["rate"] for off in offs if "rate" in off]
    return any(said.get(name, FAR) <= NEAR for name in AMOUNTS) and all(off > NEAR for off in rates)


def _off(value: Decimal, talk: Talk, origin: str) -> dict[str, Decimal]:
    """How many times each amount of that origin is larger or smaller than `value`."""
    of = {n: u.value.magnitude for n, u in talk.slots.items() if u.origin == origin and is_amount(u.value)}
    return {n: max(value / m, m / value) for n, m in of.items() if m > 0}


def digits_moved(value: Decimal, used: Used) -> bool:
    """The same digits in another order."""
    return is_amount(used.value) and used.value.magnitude != value and sorted(str(value)) == sorted(
        str(used.value.magnitude))


def meant_slot(heard: Heard, talk: Talk) -> str | None:
    """The slot a bare number is meant for: the one whose last value is nearest to it, else the one changed last."""
    if talk.question == "per_kg":
        return "weight"
    if talk.question in OF_A_SIZE and any(a.text.endswith("s") and _of_a_hundred(a) for a in heard.amounts):
        return "container"  # "they're 500s": what each of them holds
    if talk.question in OTHERWISE and not OF_A_WHOLE & set(heard.tokens):
        return OTHERWISE[talk.question]
    bare = next((r for a in heard.amounts for r in a.readings if r.kind == "number"), None)
    if bare is None or bare.value <= 0 or talk.last_slot in ("start", "finish", "opened"):
        return talk.last_slot
    said = [used.value for used in talk.slots.values() if used.origin == "question"]
    if said and all(isinstance(value, datetime) for value in said) and any(
            r.kind == "clock" for a in heard.amounts for r in a.readings):
        return next(n for n, u in talk.slots.items() if u.origin == "question")  # "make that eight fifteen", of times
    for origins in (("question",), ("care plan", "feed log")):  # what was said is meant before what was looked up
        near = {}
        for name, used in talk.slots.items():
            if used.origin in origins and is_amount(used.value) and used.value.magnitude > 0:
                ratio = bare.value / used.value.magnitude
                near[name] = max(ratio, 1 / ratio)
            if "question" in origins and digits_moved(bare.value, used):
                return name  # "typo. 410", of 140
        best = min(near, key=lambda n: near[n], default=None)
        if best is not None and near[best] <= (2 if "question" in origins else NEAR_PLANNED):
            return best
    if bare.value <= LAST_HOUR and bare.value == int(bare.value):  # "they moved it, eleven": the time, not the rate
        times = [n for n, u in talk.slots.items() if isinstance(u.value, datetime) and u.origin == "question"]
        return times[0] if len(times) == 1 else talk.last_slot
    return talk.last_slot


def _of_a_hundred(amount: Amount) -> bool:
    return any(r.kind == "number" and r.value >= A_SIZE for r in amount.readings)


def as_told(amount: Amount, before: object) -> Used | None:
    """A number told in the place of an amount of the sum, in its unit; None where it can be none of its kind."""
    first = next((r for r in amount.readings if r.kind in ("number", "volume", "rate")), None)
    if first is None or not is_amount(before):
        return None
    value = qty(first.value, first.unit if first.kind != "number" else unit_of(before))
    return Used(value, "question", amount.text) if value.dimensionality == before.dimensionality else None
