"""The pieces of a message that the fitted weights hear one by one: the whole, and its sentences."""

from __future__ import annotations

import re

_PIECES = re.compile(r"(?<=[.?!;])\s+|\s*\n\s*|\s+(?:also|but|anyway|oh and?|and also)\s+", re.IGNORECASE)
SHORTEST = 5  # words


def pieces_of(text: str) -> tuple[str, ...]:
    """The whole message and each of its sentences of at least five words."""
    found = [p.strip() for p in _PIECES.split(text) if len(p.split()) >= SHORTEST]
    return tuple(dict.fromkeys((text, *found)))
