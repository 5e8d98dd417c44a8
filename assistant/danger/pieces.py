"""The pieces of a message that the fitted weights hear one by one: its sentences, and what stands beside a sum."""

from __future__ import annotations

import re

from assistant import gather
from assistant.understand import rank

_PIECES = re.compile(r"(?<=[.?!;])\s+|\s*\n\s*|\s+(?:also|but|anyway|oh and?|and also)\s+", re.IGNORECASE)
_CLAUSES = re.compile(
    r"[,;.!?](?!\d)\s*|\s+(?:and|so) (?=(?:how|what|when|should|can|could|do|does|is|will|which)\b)", re.IGNORECASE
)
SUMS, ASKED = gather.names(), 0.5  # ... and how surely the whole asks one
SHORTEST = 5  # words


def pieces_of(text: str) -> tuple[str, ...]:
    """The whole message and each of its sentences of at least five words."""
    found = [p.strip() for p in _PIECES.split(text) if len(p.split()) >= SHORTEST]
    return tuple(dict.fromkeys((text, *found, *_beside_a_sum(text))))


def _beside_a_sum(text: str) -> tuple[str, ...]:
    """What is told beside a sum, without the clause that asks it: "brown bits in it like coffee, how fast for ten?"."""
    clauses = [c.strip() for c in _CLAUSES.split(text) if c.strip()]
    if len(clauses) < 2 or not any(r.intent in SUMS and r.p >= ASKED for r in rank(text)[:1]):
        return ()
    rest = ", ".join(c for c in clauses if not any(r.intent in SUMS for r in rank(c)[:1]))
    return (rest,) if len(rest.split()) >= SHORTEST and rest != text else ()
