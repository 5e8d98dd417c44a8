"""What the words right beside a number say so plainly that no weights say it otherwise."""

from __future__ import annotations

from assistant.message import Heard
from assistant.numbers.number_pairs import OF_WHOLE
from assistant.numbers.spoken import Spoken

IN_A_TIME = (["in"], ["over"], ["into"], ["within"], ["across"])
STILL_THERE = ("left", "hung")
AS_LEFT = ("left", "in", "to", "hanging", "still", "of", "remaining")
PLAIN = 2.0


def said_otherwise(heard: Heard, one: Spoken, role: str) -> bool:
    """Is this role, which the weights give the number, none that the words beside it allow?"""
    if role == "given":
        return _to_be_given(heard, one)
    if role in STILL_THERE:  # "she's had three hundred so what's left to go"
        return one.before.endswith("s had") and not one.after.startswith(AS_LEFT)
    # "she took 135 of her 180": the whole of it
    return role == "at_a_feed" and one.roles.get("total", 0.0) >= PLAIN and OF_WHOLE.fullmatch(one.before) is not None


def _to_be_given(heard: Heard, one: Spoken) -> bool:
    """ "What rate gets 600 in in ten hours": an amount with the time that it is to take has not gone in."""
    after = next((other for other in heard.amounts if other.start >= one.amount.end), None)
    between = list(heard.tokens[one.amount.end : after.start]) if after is not None else []
    return after is not None and after.readings[0].kind == "time" and between[-1:] in IN_A_TIME
