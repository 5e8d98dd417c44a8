"""The wake phrase, as recognisers write it ("Hey bag side", "Hey, Backside"): matched loosely, at the start."""

from __future__ import annotations

import re
from difflib import SequenceMatcher

from knowledge.library import table

NEAR = 0.78  # of 1: chosen on synthetic voices (tests/benchmarks/voice.py wake)
_WORDS = re.compile(r"[^\W_]+(?:'[a-z]+)?")


def phrases() -> tuple[str, ...]:
    return tuple(table("voice_en")["wake"])


def woken(text: str, wake: tuple[str, ...] | None = None) -> str | None:
    """What follows the wake phrase (may be empty), or None where the words do not begin with it."""
    words = list(_WORDS.finditer(text))[:5]
    for phrase in wake or phrases():
        joined = phrase.replace(" ", "")
        best, end = 0.0, 0
        for count in range(1, len(words) + 1):
            begun = "".join(word.group().lower() for word in words[:count])
            near = SequenceMatcher(None, begun, joined, autojunk=False).ratio()
            if near > best:
                best, end = near, words[count - 1].end()
        if best >= NEAR and words[0].group()[0].lower() == joined[0]:
            return text[end:].lstrip(" .,!?-")
    return None
