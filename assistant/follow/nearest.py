"""Is a number said bare another amount of the sum just answered, or one of its values misspelt?"""

from __future__ import annotations

from decimal import Decimal

from assistant.dialogue import Talk
from assistant.message import Heard
from assistant.numbers.wants import Used
from rules.quantity import is_amount

NEAR, FAR = 2, 4  # times the value of before
AMOUNTS = ("volume", "total", "given", "hung")


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
