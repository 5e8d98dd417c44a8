"""What must be asked about an utterance before it is answered. Facts only: the sentences are in knowledge/voice_en.toml.

A number is passed on only if both ears have it and it sounds like no other; else it is said back. Thirteen and thirty,
fourteen and forty ... are always asked about: one recogniser mistakes them while sure of itself.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.hear import digit_by_digit
from assistant.hear.plain import plain
from assistant.night import Night
from assistant.triage import triage, worrying
from assistant.voice.digits import compared, with_digits
from assistant.voice.ears import Spoken

DANGER, CHOICE, READ_BACK = "danger", "choice", "read_back"


@dataclass(frozen=True)
class Doubt:
    """One question about what was heard. `either` are the two readings of the number in doubt, for CHOICE."""

    kind: str
    text: str                            # what is answered after a yes
    either: tuple[str, str] | None = None
    other: str = ""                      # the text with the other reading, for CHOICE

    @property
    def digits(self) -> tuple[str, ...]:
        """The numbers of the text, each digit by digit."""
        return tuple(spelt(mark) for mark in compared(self.text) if mark[0].isdigit())


def spelt(digits: str) -> str:
    """ "15" -> "one five"; "7.5" -> "seven point five"."""
    from decimal import Decimal

    return digit_by_digit(Decimal(digits)) if digits.count(".") < 2 else digits


def danger_in(spoken: Spoken, night: Night) -> bool:
    """Is a danger said plainly, by the first ear's words? Then it is answered at once, whatever the numbers."""
    return bool(triage(plain(spoken.text), night))


def doubt(spoken: Spoken, night: Night) -> Doubt | None:
    """What to ask about these words, the danger that may have been said first; None where they can be answered."""
    if danger := _danger_doubt(spoken, night):
        return danger
    found = spoken.numbers
    twins = [n for n in found if n.twin is not None]
    if not found and not compared(spoken.second) and not spoken.guessed:
        return None
    others = tuple(n.digits for n in found)
    if spoken.agreed and not spoken.guessed and not twins:
        return None
    if len(twins) == 1 and _only_twin_differs(spoken):
        twin = twins[0]
        other = with_digits(spoken.text, tuple(twin.twin or "" if n is twin else n.digits for n in found))
        return Doubt(CHOICE, with_digits(spoken.text, others), (twin.digits, str(twin.twin)), other)
    return Doubt(READ_BACK, with_digits(spoken.text, others))


def _only_twin_differs(spoken: Spoken) -> bool:
    """Do the ears agree on all but which of a pair was said, the words being no guess?"""
    if spoken.guessed:
        return False
    return _untwinned(compared(spoken.text)) == _untwinned(compared(spoken.second))


def _untwinned(marks: tuple[str, ...]) -> tuple[str, ...]:
    """Each number as the smaller of the pair it belongs to."""
    from decimal import Decimal

    from assistant.hear import misheard

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
    return Doubt(DANGER, spoken.text) if spoken.guessed and worrying(plain(spoken.text)) else None
