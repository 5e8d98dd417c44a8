"""A number told in a sentence of its own that has nothing to do with the sum: it may fill no slot of it.

"My sister is 34. How long does 300 last?", "Yesterday it was 410. ...", "Physio is 30 minutes on Thursday. ...". The
words that tie a sentence to a feed, and those that place it at another time, are data: knowledge/beside_en.toml.
"""

from __future__ import annotations

from assistant.message import Amount, Heard
from assistant.numbers.number_pairs import beside

ENDS = frozenset({".", "?", "!", ";", "\n"})
WITH_UNIT = frozenset({"rate", "volume", "energy", "density", "drops", "drop_factor", "percent", "strength"})
OF_AN_AMOUNT = ("number", "rate", "volume")
OF_FEEDING = frozenset({"container", "bag", "bottle", "syringe", "scoop", "feed"})
LEAST_FED = 20  # a bare number from here up may be an amount or a rate
LEAST, OWN_WORDS = 3, 5  # words that the rest of the message has, to be a message by itself


def stands_aside(heard: Heard, amount: Amount) -> bool:
    """Is the number in a sentence of its own that asks nothing and is not of this feed, or not of now?"""
    tokens = heard.tokens
    first, last = amount.start, amount.end
    while first > 0 and tokens[first - 1] not in ENDS:
        first -= 1
    while last < len(tokens) and tokens[last] not in ENDS:
        last += 1
    rest = [t for t in (*tokens[:first], *tokens[last:]) if t not in ENDS]
    if len(rest) < LEAST or (last < len(tokens) and tokens[last] == "?"):
        return False
    told = " ".join((*tokens[first : amount.start], "#", *tokens[amount.end : last]))
    if beside("asks_here").search(told) or not beside("a_subject").match(told):
        return False
    return _of_other_things(told, amount) or _of_another_time(told, " ".join(rest), amount)


def of_other_things(heard: Heard) -> bool:
    """Is a sentence with numbers of other things altogether ("My husband left at six.")?"""
    shown = list(heard.tokens)
    for amount in heard.amounts:
        shown[amount.start : amount.end] = ["#", *[""] * (amount.end - amount.start - 1)]
    told = " ".join(t for t in shown if t and t not in ENDS)
    if not heard.amounts or heard.unread or beside("asks_here").search(told) or not beside("a_subject").match(told):
        return False
    return all(_of_other_things(told, amount) for amount in heard.amounts)


def _of_other_things(told: str, amount: Amount) -> bool:
    """A sentence with a subject of its own, and no word that ties it to a feed or to who is fed."""
    first = amount.readings[0]
    if first.kind in WITH_UNIT or beside("tied").search(told) or (first.kind == "count" and first.unit in OF_FEEDING):
        return False
    if beside("other_subject").match(told):
        return True
    may_be_fed = first.kind == "number" and first.value >= LEAST_FED  # "I managed 250."
    return not may_be_fed and not beside("half_tied").search(told)


def _of_another_time(told: str, rest: str, amount: Amount) -> bool:
    """What was so at another time or place, where nothing else in the message points back at it."""
    if amount.readings[0].kind not in OF_AN_AMOUNT or len(rest.split()) < OWN_WORDS:
        return False
    then = beside("another_time").search(told) or beside("day_before").search(told)
    return bool(then) and not beside("of_now").search(told) and not beside("of_then").search(rest)
