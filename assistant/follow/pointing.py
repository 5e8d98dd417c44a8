"""What only points at the talk: "so that's what time?", while the sum it is of is still open; one of two numbers."""

from __future__ import annotations

import re

from assistant import gather
from assistant.dialogue import Talk
from assistant.follow.turns import SHORT, Question
from assistant.message import Heard

POINTS = re.compile(
    r"^(?:(?:so|and|ok|okay|then|right|well|&|n|but),? )*(?:that|that's|thats|which|which's|this|it's|its)"
    r"(?:'s| is| means| makes| takes us to| brings us to)? (?:it )?(?:what|when|how long|till when"
    r"|until when|what o'?clock)\b",
    re.IGNORECASE,
)
DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
SPELT = re.compile(
    rf"\b(?:(?P<tens>{'|'.join(DIGITS[1:])}) (?:oh|o|zero|nought|nil)|one (?P<ones>{'|'.join(DIGITS[1:])}))\b"
)  # "five oh", "one five"
LEAST_OF_TWO = 10  # "one" and "five" only spell the number out


def still_open(text: str, heard: Heard, talk: Talk) -> Question | None:
    """The sum that was asked back about and is pointed at: asked once more. The plan's own feed is not meant."""
    if heard.amounts or len(heard.tokens) > SHORT or not POINTS.match(text):
        return None
    last = talk.last or {}
    if last.get("outcome") != "asked_back":
        return None
    if talk.asks is not None and talk.question in gather.names():
        return Question(str(talk.question), carried=talk.slots, follows=True, counts="")
    return Question("unclear") if last.get("intent") == "unclear" else None


def one_of_a_pair(heard: Heard) -> str | None:
    """The number meant of "fifteen, a one and a five", "three zero, thirty"; None where two are told."""
    spelt = SPELT.search(" ".join(heard.tokens))
    if spelt is not None and not any(a.readings[0].value >= LEAST_OF_TWO for a in heard.amounts):
        tens, ones = spelt["tens"], spelt["ones"]
        return f"{DIGITS.index(tens)}0" if tens is not None else f"1{DIGITS.index(ones)}"
    found = {a.readings[0].value: a.text for a in heard.amounts if a.readings[0].value >= LEAST_OF_TWO}
    return next(iter(found.values())) if len(found) == 1 else None
