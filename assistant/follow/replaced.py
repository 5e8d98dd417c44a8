""" "It's ten o'clock now, not eight", "60 instead of 72", right after a sum: the value it was worked out with is taken
back, and another is told in its place. Which of the sum's values is meant, the one taken back says."""

from __future__ import annotations

import re
from datetime import datetime

from assistant.dialogue import Talk
from assistant.follow.following import standing
from assistant.follow.nearest import as_told
from assistant.follow.turns import Question, after_a_sum, pattern
from assistant.hear import hear
from assistant.message import Amount, Heard
from assistant.numbers.number_pairs import beside
from assistant.numbers.wants import Used
from rules.quantity import is_amount

MOST_WORDS = 24
HALF_A_DAY = 720  # minutes
AS_BEFORE = {"off": ("paused",)}  # the word by which such a value is heard
OF_AN_AMOUNT = ("number", "volume", "rate", "time", "count")
FROM_TO = re.compile(r"\bfrom$"), re.compile(r"\b(?:to|till|until)$")


def replaced(text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...]) -> Question | None:
    """The same sum with the one value in the other's place; None where none of its values is taken back."""
    told = [a for a in heard.amounts if a.readings[0].kind not in ("day", "date")]
    if not after_a_sum(talk) or len(told) != 2 or len(heard.tokens) > MOST_WORDS or heard.unread:
        return None
    if "?" in text and pattern("asks_anew").search(text):
        return None
    old, new = (told[1], told[0]) if _taken_back(heard, told[1], told[0]) else (told[0], told[1])
    if not _taken_back(heard, old, new):
        return None
    slots = [n for n, used in talk.slots.items() if _is(used, old)]
    if len(slots) != 1:
        return None
    if (value := as_told(new, talk.slots[slots[0]].value)) is not None and len(heard.amounts) == len(told):
        kept = {**standing(text, heard, talk, feeds), slots[0]: value}
        return Question(str(talk.question), carried=kept, follows=True, counts="")
    counts = " ".join([*AS_BEFORE.get(slots[0], ()), new.text, *(a.text for a in heard.amounts if a not in told)])
    kept = standing(counts, hear(counts), talk, feeds)
    return Question(str(talk.question), carried=kept, favours=slots[0], follows=True, counts=counts)


def _taken_back(heard: Heard, old: Amount, new: Amount) -> bool:
    before = " ".join(heard.tokens[: old.start])
    if beside("denied").search(before):
        return True
    moved = old.start < new.start and FROM_TO[0].search(before)
    return bool(moved and FROM_TO[1].search(" ".join(heard.tokens[old.end : new.start])))


def _is(used: Used, amount: Amount) -> bool:
    """Was this the value of a slot, as it may be said: the bare number, the hour without its half of the day?"""
    value = used.value
    for reading in amount.readings:
        if isinstance(value, datetime):
            minutes = int(reading.value) if reading.kind == "clock" else int(reading.value * 60)
            hour = reading.kind == "clock" or (reading.kind == "number" and 1 <= reading.value <= 12)
            if hour and (value.hour * 60 + value.minute - minutes) % HALF_A_DAY == 0:
                return True
        elif is_amount(value) and reading.kind in OF_AN_AMOUNT and value.magnitude == reading.value:
            return True
    return False
