""" "Twice that amount", "half of it", "and double?", right after a sum: the same for the amount so many times over."""

from __future__ import annotations

import re
from decimal import Decimal

from assistant.dialogue import Talk
from assistant.follow.turns import Question, after_a_sum
from assistant.numbers.wants import Used
from rules.quantity import is_amount, qty, unit_of

TIMES = {
    r"twice|double|doubled|two times|2 ?x|2 times": Decimal(2),
    r"half|1/2|0\.5 times": Decimal("0.5"),
    r"three times|triple|treble|thrice|3 ?x|3 times": Decimal(3),
    r"four times|quadruple|4 ?x|4 times": Decimal(4),
    r"one and a half times|half as much again|half again": Decimal("1.5"),
    r"a quarter(?: of)?|a fourth(?: of)?": Decimal("0.25"),
}
_LEAD = (r"(?:(?:and|n|or|so|ok|okay|what about|how about|what if (?:i|we) (?:make|made|mix|mixed|want|do|did)"
         r"|if (?:i|we) (?:make|made|mix|mixed|want|do|did)|for|now|then|say|make it|just|only|sorry)\b,? ?)*")
_OF_THAT = (r"(?: (?:of|as|that|this|it|much|many|the|amount|amounts|lot|batch|volume|same|again|then|please|instead"
            r"|quantity))+")
_SAID = {
    times: re.compile(rf"{_LEAD}(?:make |do )?(?:{words}){_OF_THAT}", re.IGNORECASE) for words, times in TIMES.items()
}
_BARE = re.compile(rf"{_LEAD}(?:double|twice|triple)", re.IGNORECASE)
AMOUNTS = ("makes", "volume", "total", "amount", "given", "stock", "scoops", "powder")  # the first that is there


def factored(text: str, talk: Talk) -> Question | None:
    """The last sum with its amount so many times over; None where that is not all that is said.

    An amount that was told is meant, else the plan's.
    """
    if not after_a_sum(talk):
        return None
    said = text.strip(" .?!")
    times = next((n for n, words in _SAID.items() if words.fullmatch(said)), None)
    times = TIMES_BARE.get(said.split()[-1].lower()) if times is None and _BARE.fullmatch(said) else times
    told = {n: u for n, u in talk.slots.items() if u.origin in ("question", "care plan") and is_amount(u.value)}
    name = next((n for n in AMOUNTS if n in told and told[n].origin == "question"), None)
    name = name or next((n for n in AMOUNTS if n in told), None)
    if times is None or name is None:
        return None
    value = told[name].value
    moved = Used(qty(value.magnitude * times, unit_of(value)), "question")
    kept = {n: u for n, u in talk.slots.items() if u.origin == "question"} | {name: moved}
    return Question(str(talk.question), carried=kept, follows=True, counts="")


TIMES_BARE = {"double": Decimal(2), "twice": Decimal(2), "triple": Decimal(3)}
