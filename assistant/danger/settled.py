"""A fever of some weeks ago with a normal reading since: it is told as over, and calls for no card.

Only where the one reading of a fever stands in the clause of that time, and nothing in the message says it is back.
"""

from __future__ import annotations

import re

from assistant.danger.here_and_now import pattern, told

FEVER = frozenset({"fever"})

_SENTENCE = re.compile(r"[^.!?;\n]+(?:[.,]\d[^.!?;\n]*)*[.!?;\n]*")
_CLAUSE = re.compile(r",(?!\d)\s*|\s+(?:and(?! (?:a bit|a half|something))|but|now)\s+")
_OF_NOW = re.compile(r"\b(?:since|now|today|tonight|this|still)\b", re.IGNORECASE)


def settled(text: str) -> frozenset[str]:
    """The card of a fever that the words tell as long over."""
    if len(pattern("fever_reading").findall(text)) != 1 or told("not_settled", text):
        return frozenset()
    sentences = [s for s in _SENTENCE.findall(text) if told("normal_since", s)]
    return FEVER if any(_long_over(clause) for s in sentences for clause in _CLAUSE.split(s)) else frozenset()


def _long_over(clause: str) -> bool:
    return told("fever_reading", clause) and told("weeks_past", clause) and not _OF_NOW.search(clause)
