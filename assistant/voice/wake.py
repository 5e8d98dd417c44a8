"""The wake phrase, as recognisers write it ("Hey bag side", "Hey, Backside"): matched loosely, at the start."""

from __future__ import annotations

import re
from difflib import SequenceMatcher

from knowledge.library import table

NAMED, NAMED_WITHIN = 0.79, 3  # "backside" for the name; among the first so many words
NEAR = 0.78  # of 1: chosen on synthetic voices (tests/benchmarks/voice.py wake)
_WORDS = re.compile(r"[^\W_]+(?:'[a-z]+)?")


def phrases() -> tuple[str, ...]:
    return tuple(table("voice_en")["wake"])


def woken(text: str, wake: tuple[str, ...] | None = None) -> str | None:
    """What follows the wake phrase (may be empty), or None where the words do not begin with it."""
    words = list(_WORDS.finditer(text))[:5]
    for phrase in wake or phrases():
        begun, joined, best, end = "", phrase.replace(" ", ""), 0.0, 0
        for word in words:
            begun += word.group().lower()
            if (near := _near(begun, joined)) > best:
                best, end = near, word.end()
        if best >= NEAR and words[0].group()[0].lower() == joined[0]:
            return text[end:].lstrip(" .,!?-")
    return None


def awake(text: str) -> str | None:
    """The same of an utterance in which the second ear has found the sounds of the phrase already.

    Its name alone counts then, wherever it ends among the first words: "Stay back side", "Payback side", but not
    "Hey Becky" or "Hey that side".
    """
    for phrase in phrases():
        begun, name, best, end = "", phrase.split()[-1], 0.0, 0
        for word in list(_WORDS.finditer(text))[:NAMED_WITHIN]:
            begun += word.group().lower()
            near = max(_near(begun[-length:], name) for length in range(len(name) - 1, len(name) + 3))
            if near > best:
                best, end = near, word.end()
        if best >= NAMED:
            return text[end:].lstrip(" .,!?-")
    return None


def _near(one: str, other: str) -> float:
    """How alike, 0 to 1."""
    return SequenceMatcher(None, one, other, autojunk=False).ratio()
