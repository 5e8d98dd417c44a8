"""A value of the sum just answered with a reason beside it: "what about 12 hours then, so we'd have the evening"."""

from __future__ import annotations

import re

from assistant.dialogue import Talk
from assistant.follow.turns import after_a_sum, pattern
from assistant.hear import hear
from assistant.message import Heard

_CLAUSES = re.compile(r"\s*(?:[;.!]+(?!\d)|,(?!\d)|\s(?:because|cos|cuz|since|as in))\s+")
AS_PLANNED = re.compile(
    r"\b(?:usual|normal|regular|ordinary|standard|planned|ordered|proper) (?:\w+ )?(?:start|starting|time|hour|schedule"
    r"|rate|speed|setting|flow|amount|volume|dose|bag)\b|\bas (?:usual|normal|planned|ordered|always)\b", re.IGNORECASE,
)
LONGEST = 24  # words; a longer message tells a story of its own


def in_a_clause(text: str, heard: Heard, talk: Talk) -> str | None:
    """The one clause with all the numbers, right after a sum; None where the others ask or tell something too.

    Of several the last one counts, where it says what the others come to ("the dog has been at one box, so 25").
    """
    clauses = [c for c in _CLAUSES.split(text.strip(" .!")) if c.strip()]
    if not after_a_sum(talk) or len(clauses) < 2 or len(heard.tokens) > LONGEST:
        return None
    counted = [c for c in clauses if hear(c).amounts or hear(c).unread]
    beside = [c for c in clauses if c not in counted]
    if any(AS_PLANNED.search(c) for c in beside):
        return None  # "and on Friday, regular hour": a value too, told without its number
    asks = any(pattern("asks_anew").search(c) or pattern("tells_of_an_act").search(c) or "?" in c for c in beside)
    concludes = len(counted) > 1 and counted[-1] is clauses[-1] and pattern("concludes").match(counted[-1])
    return counted[-1] if (len(counted) == 1 or concludes) and not asks else None
