"""A recogniser's spellings as people would write them: "9.15" for a time, "Four T", "200 and 12"."""

from __future__ import annotations

import re
from functools import cache

from knowledge.library import table

_CLOCK = re.compile(
    r"\b(at|by|since|until|till|from|past|before|after|is|it's|start(?:ed|s)?|around|about) "
    r"(2[0-3]|1\d|[1-9])[.]([0-5]\d)\b(?! ?(?:mL|ml|mls|litres?|liters?|L|kcal|cal|grams?|g|kg|oz|ounces?)\b)",
    re.IGNORECASE,
)
_RUN_ON = re.compile(
    r"\b(start(?:ed|s|ing)? (?:it |her |him |the \w+ )?at|began at|it's now|since|finish(?:es|ed)? at|hung at|until"
    r"|up at|on at|opened at|at about|at around) (2[0-3]|1\d|[1-9])([0-5]\d)\b(?! ?(?:mls?|an hour|per hour|kcal)\b)",
    re.IGNORECASE,
)
_HUNDRED_AND = re.compile(r"\b([1-9])00 and ([1-9]\d?)\b(?![.:%]?\d)")
_SPELT_OUT = re.compile(r"\b\d(?:-\d)+\b")


def mended(text: str) -> str:
    """`text` with what recognisers are known to write for what was said. Digits are never changed, only set apart."""
    text = _once(text.strip())
    for wrong, right in _spellings():
        text = wrong.sub(right, text)
    text = _SPELT_OUT.sub(lambda found: found.group().replace("-", " "), text)
    text = _HUNDRED_AND.sub(lambda found: f"{found[1]}{int(found[2]):02}", text)
    text = _CLOCK.sub(r"\1 \2:\3", text)
    return _RUN_ON.sub(r"\1 \2:\3", text)


def _once(text: str) -> str:
    """A recogniser may write a whole sentence twice over: said once, it is heard once."""
    words = text.split()
    half, odd = divmod(len(words), 2)
    plain = [word.strip(".,?!").lower() for word in words]
    return " ".join(words[:half]) if not odd and half >= LEAST and plain[:half] == plain[half:] else text


LEAST = 4  # words: "no no" and "ten ten" are as they were said


@cache
def _spellings() -> tuple[tuple[re.Pattern[str], str], ...]:
    listed = sorted(table("voice_en")["mended"].items(), key=lambda pair: -len(pair[0]))
    return tuple((re.compile(rf"\b{re.escape(wrong)}\b", re.IGNORECASE), right) for wrong, right in listed)
