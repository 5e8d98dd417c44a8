"""Amounts and times in an order's free text, to be held against its codes. Nothing of this goes into a plan unasked."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NamedTuple

NUMBER = r"(?P<number>[0-9]+(?:\.[0-9]+)?)"
#: measure -> how it is written; the first that fits takes the number
SHAPES = (
    ("energy_ml", re.compile(NUMBER + r"\s*k?cal(?:orie)?s?\s*(?:/|per)\s*(?:ml|mls|milliliters?|millilitres?)\b")),
    ("energy_oz", re.compile(NUMBER + r"\s*k?cal(?:orie)?s?\s*(?:/|per)\s*(?:fl\.?\s*)?(?:oz|ounces?)\b")),
    ("rate", re.compile(NUMBER + r"\s*(?:mls?|cc)\s*(?:/|per|an)\s*(?:h|hr|hrs|hour)\b")),
    ("ml", re.compile(NUMBER + r"\s*(?:mls?|cc|millilit(?:er|re)s?)\b(?!\s*(?:/|per))")),
    ("oz", re.compile(NUMBER + r"\s*(?:fl\.?\s*)?(?:oz|ounces?)\b(?!\s*(?:/|per))")),
    ("every", re.compile(r"(?:every|q)\s*" + NUMBER + r"\s*(?:h|hr|hrs|hours?)\b")),
    ("clock", re.compile(NUMBER + r"(?::(?P<minute>[0-9]{2}))?\s*(?P<half>[ap])\.?m\b")),
    ("clock24", re.compile(r"\b(?P<number>[01]?[0-9]|2[0-3]):(?P<minute>[0-5][0-9])\b")),
    ("other", re.compile(NUMBER)),
)


class InWords(NamedTuple):
    """A number of the text: its measure, its value (clock times in minutes of the day) and as it is written."""

    measure: str
    value: Decimal
    said: str


def numbers_in(text: str) -> list[InWords]:
    """Every number of the text, in order; what fits no shape is "other"."""
    plain, at = text.casefold(), 0
    found: list[InWords] = []
    while True:
        hits = [(shape.search(plain, at), measure) for measure, shape in SHAPES]
        starts = [(hit.start("number"), place) for place, (hit, _) in enumerate(hits) if hit is not None]
        if not starts:
            return found
        hit, measure = hits[min(starts)[1]]
        assert hit is not None
        found.append(InWords(measure.removesuffix("24"), _value(hit, measure), text[hit.start():hit.end()]))
        at = hit.end()


def _value(hit: re.Match[str], measure: str) -> Decimal:
    number = Decimal(hit["number"][:40])
    if measure == "clock":
        hour = number % 12 + (12 if hit["half"] == "p" else 0)
        return hour * 60 + Decimal(hit["minute"] or 0)
    return number * 60 + Decimal(hit["minute"]) if measure == "clock24" else number
