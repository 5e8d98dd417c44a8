"""A value told right after a sum, in words that ask nothing and tell nothing else ("my bad typo. 410", "n 1100").

Which of the sum's values it stands for: the role that the weights give it, else the value it is nearest to. Where
neither says it, nothing is taken (the number is asked about).
"""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

from assistant.dialogue import Talk
from assistant.follow.by_its_role import SLOTS
from assistant.follow.following import standing
from assistant.follow.nearest import LAST_HOUR, as_told
from assistant.follow.turns import LOG_TALK, Question, after_a_sum, pattern, told
from assistant.language.number_roles import shares_of
from assistant.message import Amount, Heard
from assistant.numbers.wants import Used
from assistant.numbers.weighed_roles import APART
from assistant.understand import Candidate
from rules.quantity import is_amount

MOST_WORDS = 16
LIKELY = 0.65  # how sure the weights must be of a role
FAINT = 0.5  # below this share it is open what the words ask
TELLS = ("remark", "out_of_scope", "unclear", "yes", "no", "repeat", "undo")
NEAR = Decimal("1.8")  # times the value of before
OF_ONE_AMOUNT = frozenset({"mix", "energy", "protein"})
ON_TOP = frozenset({"other", "another", "more", "extra", "also", "too", "plus", "top", "well", "added", "add", "count"})
TO_THE_HOUR = "hand"  # "ten past": of which hour is not said


def told_after(
    text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...], feeds: tuple[str, ...], logged: tuple[str, ...]
) -> Question | None:
    """The sum just answered with the one value told; None where more is said, or which value it is stays open."""
    numbers = [a for a in heard.amounts if a.readings[0].kind not in ("day", "date")]
    if not after_a_sum(talk) or len(numbers) != 1 or heard.unread or len(heard.tokens) > MOST_WORDS or "?" in text:
        return None
    if not _tells_a_value(text, heard, talk, ranked, logged) or pattern("of_flushes").search(text):
        return None
    slot = _slot(numbers[0], text, heard, talk)
    if slot is None or (slot == "opened" and not pattern("correction").match(text)):
        return None  # mixed at ten to seven, "if it only gets hung at half 7": the first still counts
    counts = " ".join(a.text for a in heard.amounts)
    kept = standing(text, heard, talk, feeds)
    if is_amount(talk.slots[slot].value):  # 1100 could be an hour as well: it is none
        value = as_told(numbers[0], talk.slots[slot].value)
        kept = kept if value is None else {**kept, slot: value}
        return None if value is None else Question(str(talk.question), carried=kept, follows=True, counts="")
    return Question(str(talk.question), carried=kept, favours=slot, follows=True, counts=counts)


def minutes_put_right(text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...]) -> Question | None:
    """ "No, five past", of a sum whose one hour told is a quarter past eight: the nearest such minute to it."""
    numbers = [a.readings[0] for a in heard.amounts if a.readings[0].kind not in ("day", "date")]
    hours = {n: u.value for n, u in talk.slots.items() if isinstance(u.value, datetime) and u.origin == "question"}
    if not after_a_sum(talk) or len(numbers) != 1 or numbers[0].unit != TO_THE_HOUR or len(hours) != 1:
        return None
    later = pattern("later_start").search(text) is not None  # "and if I don't get to it till twenty past?"
    if not (pattern("correction").match(text) or later) or heard.unread or len(heard.tokens) > MOST_WORDS:
        return None  # "what about quarter to": of which hour is asked
    [(slot, before)] = hours.items()
    near = [before.replace(minute=int(numbers[0].value)) + timedelta(hours=shift) for shift in (-1, 0, 1)]
    near = [at for at in near if at > before or not later]
    moved = Used(min(near, key=lambda at: abs(at - before)), "question", heard.amounts[0].text)
    kept = {**standing(text, heard, talk, feeds), slot: moved}
    return Question(str(talk.question), carried=kept, follows=True, counts="")


def _tells_a_value(
    text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...], logged: tuple[str, ...]
) -> bool:
    top = ranked[0]
    if ON_TOP & set(heard.tokens):
        return False  # "her dad has just done the other 90": more of it
    if top.card is not None or pattern("asks_first").search(text) or told(text, heard, logged) is not None:
        return False
    put_right = bool(pattern("correction").match(text))
    return top.intent in (*TELLS, talk.question) or top.p < FAINT or (put_right and top.intent in LOG_TALK)


def _slot(number: Amount, text: str, heard: Heard, talk: Talk) -> str | None:
    """The value of the sum that a number stands for."""
    first = number.readings[0]
    hours = [n for n, used in talk.slots.items() if isinstance(used.value, datetime) and used.origin == "question"]
    if first.unit == TO_THE_HOUR:
        return None
    said = [used.value for used in talk.slots.values() if used.origin == "question"]
    only_times = bool(said) and all(isinstance(value, datetime) for value in said) and "start" in talk.slots
    if only_times and any(r.kind == "clock" for r in number.readings):
        return "start"  # "make that eight fifteen", of a start told by the clock alone
    shares = shares_of(heard)[heard.amounts.index(number)]
    role, share = max(shares.items(), key=lambda pair: pair[1])
    if sum(map(shares.__getitem__, APART)) >= FAINT:
        return None  # "her nan is 84 today", "the nurse is due at ten"
    if share >= LIKELY and (named := next((n for n in SLOTS.get(role, ()) if n in talk.slots), None)) is not None:
        return named
    if first.kind == "clock" and not number.text.isdigit():
        if not pattern("correction").match(text):
            return None  # an hour told in words of its own is of another doing as well as of the feed
        return hours[0] if len(hours) == 1 else None
    amount = next((r for r in number.readings if r.kind in ("number", "volume", "rate")), None)
    return _nearest(amount.value, talk) if amount is not None and amount.value > LAST_HOUR else None


def _nearest(value: Decimal, talk: Talk) -> str | None:
    """The one amount of the sum that a number is near to: what was said comes before what the plan had. Of a sum that
    has but one, it is that one, however far."""
    said = [n for n, used in talk.slots.items() if used.origin == "question" and is_amount(used.value)]
    if talk.question in OF_ONE_AMOUNT and len(said) == 1:
        return said[0]
    for origin in ("question", "care plan"):
        off = {
            name: max(value / used.value.magnitude, used.value.magnitude / value) for name, used in talk.slots.items()
            if used.origin == origin and is_amount(used.value) and used.value.magnitude > 0
        }
        near = sorted(name for name, times in off.items() if times <= NEAR)
        if near:
            return near[0] if len(near) == 1 else None
    return None
