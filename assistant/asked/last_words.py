""" "Dry set. Hung 350 at 8. 110. Finish": what is wanted stands last, in a word or two, after all that is told."""

from __future__ import annotations

import re
from functools import cache

from assistant.clauses.parts import SENTENCES
from assistant.hear import hear
from knowledge.library import table

# how the number before the ask ends, by the table of what may be asked after it; short, as a long row of digits is none
ENDS = {"number": r"\S{0,8}", "rate": r" ?(?:mls?)? ?(?:/ ?(?:h|hr|hour)|per hour|an hour|a hour)"}


@cache
def _asks() -> dict[str, re.Pattern[str]]:
    return {name: re.compile(rf"\W*(?:{words})\W*", re.IGNORECASE)
            for name, words in table("turns_en")["last_words"].items()}


@cache
def _after_a_number() -> tuple[re.Pattern[str], ...]:
    return tuple(re.compile(rf"(?<!\S)\d[\d.]{{0,7}}{ENDS[after]}\s{{1,3}}(?P<ask>{words})\W{{0,5}}$", re.IGNORECASE)
                 for after, words in table("turns_en")["last_words_unmarked"].items())


def _unmarked(text: str) -> list[str]:
    """What is told, two numbers of it, and the ask after the last of them, where no stop mark stands between."""
    found = next((m for ask in _after_a_number() if (m := ask.search(text))), None)
    if found is None or not re.search(r"\d", text[: found.start()]):
        return [text]
    return [text[: found.start("ask")], found["ask"]]


def asked_last(text: str) -> str | None:
    """The sum that the last sentence asks for by its name alone; None where no number is told before it."""
    sentences = [p for p in SENTENCES.split(text) if p.strip(" .,;?!")]
    if len(sentences) == 1:
        sentences = _unmarked(sentences[0])
    if len(sentences) < 2 or not hear(" ".join(sentences[:-1])).amounts or hear(sentences[-1]).amounts:
        return None
    return next((name for name, ask in _asks().items() if ask.fullmatch(sentences[-1])), None)
