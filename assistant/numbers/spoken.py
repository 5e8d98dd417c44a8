"""An amount of a message with the words beside it, and the message with all of its amounts."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from assistant.message import Amount, Heard, Reading


@dataclass(frozen=True)
class Spoken:
    """One amount with the words before and after it, and how strongly each role is spoken for."""

    amount: Amount
    before: str
    after: str
    roles: dict[str, float]
    likely: str = ""  # what the weights hold it for, in a message of several numbers (weighed_roles.py)
    aside: float = 0.0  # how sure they are that it is of another story, where that is likeliest
    apart: float = 0.0  # ... or of something else about the feed that no run counts with, where one of them is

    def reading(self, *kinds: str) -> Reading | None:
        """The first reading of one of the kinds, in the order in which the hearing offered them."""
        return next((r for r in self.amount.readings if r.kind in kinds), None)


@dataclass(frozen=True)
class Said:
    heard: Heard
    spoken: tuple[Spoken, ...]

    @property
    def lower(self) -> str:
        return self.heard.text.lower()

    def has(self, *phrases: str) -> bool:
        """Does one of the phrases stand in the message, word by word?"""
        return any(_words(phrase).search(self.lower) for phrase in phrases)


@cache  # there are more of them than the library keeps compiled
def _words(phrase: str) -> re.Pattern[str]:
    return re.compile(rf"(?<![\w'])(?:{phrase})(?![\w'])")
