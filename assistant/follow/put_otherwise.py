"""A value of the sum just answered put otherwise in a whole sentence: "half past seven is soon enough, she says",
"the driver rang, he wants him at twenty past eight instead", "ah, I'll make it the round 400 and bin the rest".

Only the value counts: what stands beside it is the reason.
"""

from __future__ import annotations

from assistant.dialogue import Talk
from assistant.follow.following import TO_AN_END, standing
from assistant.follow.nearest import meant_slot
from assistant.follow.turns import Question, after_a_sum, pattern
from assistant.hear import hear
from assistant.message import Amount, Heard

DATED = ("day", "date")
MOST_WORDS = 24
LAST_HOUR = 12
OF_AN_AMOUNT = frozenset({"mix", "pour", "bag_duration", "containers", "syringe", "energy", "protein"})


def put_otherwise(text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...]) -> Question | None:
    """The same sum for that value; None where none is put otherwise."""
    told = [a for a in heard.amounts if a.readings[0].kind not in DATED]
    if not after_a_sum(talk) or len(told) != 1 or len(heard.tokens) > MOST_WORDS or "?" in text or heard.unread:
        return None
    one = told[0]
    if _another_end(text, one, talk):
        favours: str | None = "finish"
    elif _another_amount(text, heard, one, talk):
        favours = meant_slot(hear(one.text), talk)
    else:
        return None
    days = [a.text for a in heard.amounts if a is not one]
    counts = " ".join([one.text, *days])
    kept = standing(counts, hear(counts), talk, feeds)
    return Question(str(talk.question), carried=kept, favours=favours, follows=True, counts=counts)


def _another_end(text: str, one: Amount, talk: Talk) -> bool:
    """An hour that will do, or to which somebody has moved what the feed must be done for."""
    first = one.readings[0]
    hour = first.kind == "clock" or (first.kind == "number" and first.value in range(1, LAST_HOUR + 1))
    end = talk.slots.get("finish")
    if not hour or talk.question not in TO_AN_END or end is None or end.origin != "question":
        return False
    moved = pattern("end_moved").search(text) and pattern("somebody_moved_it").search(text)
    return bool(pattern("end_will_do").search(text) or moved)


def _another_amount(text: str, heard: Heard, one: Amount, talk: Talk) -> bool:
    before = " ".join(heard.tokens[: one.start])
    led = talk.question in OF_AN_AMOUNT and one.readings[0].kind in ("number", "volume")
    return led and bool(pattern("ill_make_it").fullmatch(before))
