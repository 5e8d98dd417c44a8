"""The wake phrase, as recognisers write it ("Hey bag side", "Hey, Backside"): matched loosely, at the start."""

from __future__ import annotations

import re
from difflib import SequenceMatcher

from knowledge.library import table

WHOLE = 0.6  # where nothing else was said, and the second ear has it too: "Stay back side."
NEAR = 0.78  # of 1: chosen on synthetic voices (tests/benchmarks/voice.py wake)
_WORDS = re.compile(r"[^\W_]+(?:'[a-z]+)?")


def phrases() -> tuple[str, ...]:
    return tuple(table("voice_en")["wake"])


def woken(text: str, wake: tuple[str, ...] | None = None) -> str | None:
    """What follows the wake phrase (may be empty), or None where the words do not begin with it."""
    for phrase in wake or phrases():
        near, end = _nearest(text, phrase)
        first = _WORDS.search(text)
        if near >= NEAR and first is not None and first.group()[0].lower() == phrase[0]:
            return text[end:].lstrip(" .,!?-")
    return None


def awake(text: str) -> str | None:
    """The same of an utterance in which the second ear has found the sounds of the phrase already.

    The phrase is not always written where it was said with nothing after it: less will do then.
    """
    rest = woken(text)
    if rest is None and len(_WORDS.findall(text)) <= 3 and any(_nearest(text, p)[0] >= WHOLE for p in phrases()):
        return ""
    return rest


def _nearest(text: str, phrase: str) -> tuple[float, int]:
    """How near the first words come to the phrase, 0 to 1, and where in the text they end."""
    begun, joined, best, end = "", phrase.replace(" ", ""), 0.0, 0
    for word in list(_WORDS.finditer(text))[:5]:
        begun += word.group().lower()
        near = SequenceMatcher(None, begun, joined, autojunk=False).ratio()
        if near > best:
            best, end = near, word.end()
    return best, end
