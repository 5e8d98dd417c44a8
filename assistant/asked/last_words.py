""" "Dry set. Hung 350 at 8. 110. Finish": what is wanted stands last, in a word or two, after all that is told."""

from __future__ import annotations

import re
from functools import cache

from assistant.clauses.parts import SENTENCES
from assistant.hear import hear
from knowledge.library import table


@cache
def _asks() -> dict[str, re.Pattern[str]]:
    return {name: re.compile(rf"\W*(?:{words})\W*", re.IGNORECASE)
            for name, words in table("turns_en")["last_words"].items()}


def asked_last(text: str) -> str | None:
    """The sum that the last sentence asks for by its name alone; None where no number is told before it."""
    sentences = [p for p in SENTENCES.split(text) if p.strip(" .,;?!")]
    if len(sentences) < 2 or not hear(" ".join(sentences[:-1])).amounts or hear(sentences[-1]).amounts:
        return None
    return next((name for name, ask in _asks().items() if ask.fullmatch(sentences[-1])), None)
