"""A fever of weeks ago with a normal reading since, heat denied by a normal reading, a pump that runs again: told as
over, it calls for no card.

Only where the one reading of a fever stands in the clause of that time, and nothing in the message says it is back.
"""

from __future__ import annotations

import re

from assistant.danger.here_and_now import pattern, told

FEVER = frozenset({"fever"})
KIT = frozenset({"pump_failure", "power_out"})

_SENTENCE = re.compile(r"[^.!?;\n]+(?:[.,]\d[^.!?;\n]*)*[.!?;\n]*")
_CLAUSE = re.compile(r",(?!\d)\s*|\s+(?:and(?! (?:a bit|a half|something))|but|now)\s+")
_OF_NOW = re.compile(r"\b(?:since|now|today|tonight|this|still)\b", re.IGNORECASE)


def settled(text: str) -> frozenset[str]:
    """The card of what the words tell as over: a fever of long ago, a pump that stopped and runs again."""
    kit = KIT if told("kit_on_again", text) and not told("kit_not_on", text) else frozenset()
    return kit | _fever(text)


def _fever(text: str) -> frozenset[str]:
    for calm in ("heat_set", "not_hot"):  # "set the heating to 20", "he isn't hot, 36.7"
        rest = pattern(calm).sub(" ", text)
        if rest != text and not told("fever_reading", text) and not told("not_settled", rest):
            return FEVER
    if len(pattern("fever_reading").findall(text)) != 1 or told("not_settled", text):
        return frozenset()
    sentences = [s for s in _SENTENCE.findall(text) if told("normal_since", s)]
    return FEVER if any(_long_over(clause) for s in sentences for clause in _CLAUSE.split(s)) else frozenset()


def _long_over(clause: str) -> bool:
    return told("fever_reading", clause) and told("weeks_past", clause) and not _OF_NOW.search(clause)
