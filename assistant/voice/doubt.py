"""What must be asked about an utterance before it is answered. The sentences are in knowledge/voice_en.toml.

A number is passed on only if both ears have it and it sounds like no other; else it is said back. Thirteen and thirty,
fourteen and forty ... are always asked about: one recogniser mistakes them while sure of itself.
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from decimal import Decimal

from assistant.hear import digit_by_digit, misheard
from assistant.hear.plain import plain
from assistant.night import Night
from assistant.triage import triage, worrying
from assistant.voice.digits import compared, numbers, with_digits
from assistant.voice.ears import Spoken
from assistant.voice.spoken_words import words_of
from knowledge.library import table

DANGER, CHOICE, READ_BACK, TWO = "danger", "choice", "read_back", "two"
_WORD = re.compile(r"[^\W\d_]+(?:'[a-z]+)?|/")
ALIKE = 0.6  # share of the words that both ears have, from which the second ear's numbers are offered too


@dataclass(frozen=True)
class Doubt:
    """One question about what was heard. `either` are the two readings of the number in doubt, for CHOICE."""

    kind: str
    text: str                            # what is answered after a yes
    either: tuple[str, str] | None = None
    other: str = ""                      # the text with the other reading, for CHOICE and TWO
    unsure: bool = False                 # the words are in doubt too: they are said back with the choice

    @property
    def digits(self) -> tuple[str, ...]:
        """The numbers of the text, each digit by digit."""
        return digits_of(self.text)


def digits_of(text: str) -> tuple[str, ...]:
    """The numbers of a text, each digit by digit; "half" and the like as they are."""
    return tuple(spelt(n.digits) if n.digits[0].isdigit() else n.digits for n in numbers(text))


def with_units(text: str) -> tuple[str, ...]:
    """The same, with up to two words that follow: a unit that was misheard must be heard by who is asked."""
    found = numbers(text)
    ends = [*(n.start for n in found), len(text)][1:] if found else []
    after = (" ".join(_WORD.findall(text[n.end : end])[:2]) for n, end in zip(found, ends, strict=True))
    return tuple(f"{digits} {words}".strip() for digits, words in zip(digits_of(text), after, strict=True))


def spelt(digits: str) -> str:
    """ "15" -> "one five"; "7.5" -> "seven point five"."""
    return digit_by_digit(Decimal(digits)) if digits.count(".") < 2 else digits


def danger_in(spoken: Spoken, night: Night) -> bool:
    """Is a danger said, by the first ear's words? Then it is answered at once, whatever the numbers.

    Not where it is only suspected in words that are a guess themselves: that is asked about (`doubt`).
    """
    return any(alarm.certain or not spoken.guessed for alarm in triage(plain(spoken.text), night))


def doubt(spoken: Spoken, night: Night) -> Doubt | None:
    """What to ask about these words, the danger that may have been said first; None where they can be answered."""
    if danger := _danger_doubt(spoken, night):
        return danger
    found = spoken.numbers
    twins = [n for n in found if n.twin is not None]
    if not found and not compared(spoken.second) and not compared(spoken.quieter) and not spoken.guessed:
        return Doubt(READ_BACK, spoken.text) if _lost_a_number(spoken) else None
    if spoken.agreed and not spoken.guessed and not twins:
        return None
    if digits_of(spoken.quieter) and _same_words(spoken.text, spoken.quieter) and _differ(spoken.text, spoken.quieter):
        return Doubt(TWO, spoken.text, other=spoken.quieter)
    if len(twins) == 1 and _only_twin_differs(spoken):
        twin = twins[0]
        other = with_digits(spoken.text, tuple(twin.twin or "" if n is twin else n.digits for n in found))
        return Doubt(CHOICE, spoken.text, (twin.digits, str(twin.twin)), other)
    if compared(spoken.second) and not spoken.agreed and _alike(spoken.text, spoken.second):
        return Doubt(TWO, spoken.text, other=spoken.second)
    if len(found) == 1 and twins and len(compared(spoken.second)) <= 1:
        other = with_digits(spoken.text, (str(twins[0].twin),))
        return Doubt(CHOICE, spoken.text, (twins[0].digits, str(twins[0].twin)), other, unsure=True)
    if other := next((text for text in spoken.others if digits_of(text) and _alike(spoken.text, text)), ""):
        return Doubt(TWO, spoken.text, other=other)
    return Doubt(READ_BACK, spoken.text)


def _lost_a_number(spoken: Spoken) -> bool:
    """Words that go with a number, no number, and two ears that heard different sentences: "at water past you"."""
    wants = re.search(table("voice_en")["goes_with_a_number"], spoken.text, re.IGNORECASE)
    return bool(wants and not spoken.alone and not _same_words(spoken.text, spoken.second))


def _alike(one: str, other: str) -> bool:
    """Are these much the same sentence, but for the numbers?"""
    return _same_words(one, other) and digits_of(other) != digits_of(one)


def _differ(one: str, other: str) -> bool:
    """Are their numbers, or the units beside them, not the same?"""
    return compared(one) != compared(other)


def _same_words(one: str, other: str) -> bool:
    first, second = (Counter(w for w in words_of(text) if w.isalpha()) for text in (one, other))
    return (first & second).total() >= ALIKE * max(first.total(), 1)


def _only_twin_differs(spoken: Spoken) -> bool:
    """Do the ears agree on all but which of a pair was said, the words being no guess?"""
    if spoken.guessed:
        return False
    return _untwinned(compared(spoken.text)) == _untwinned(compared(spoken.second))


def _untwinned(marks: tuple[str, ...]) -> tuple[str, ...]:
    """Each number as the smaller of the pair it belongs to."""
    low = []
    for mark in marks:
        other = misheard(Decimal(mark)) if mark.isdecimal() else None
        low.append(mark if other is None else str(min(int(mark), int(other))))
    return tuple(low)


def _danger_doubt(spoken: Spoken, night: Night) -> Doubt | None:
    """A danger that only the second ear has, or that unsure words hint at."""
    if not spoken.guessed and not worrying(plain(spoken.text)):
        return None
    if spoken.second and any(a.certain for a in triage(plain(spoken.second), night)):
        return Doubt(DANGER, spoken.second)
    suspected = spoken.guessed and (worrying(plain(spoken.text)) or bool(triage(plain(spoken.text), night)))
    return Doubt(DANGER, spoken.text) if suspected else None
