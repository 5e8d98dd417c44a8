"""A message that asks several things, parted into its asks. What is only told ("640 left") goes with every ask."""

from __future__ import annotations

import re
from functools import cache

from knowledge.library import table

BARE = ("next", "nxt", "when", "whens", "then", "now")


@cache
def _break() -> re.Pattern[str]:
    """Where one ask may end and the next begin: a stop mark, a line, or a joining word before a word that asks."""
    asks = table("turns_en")["patterns"]["ask_word"]
    joined = "and also|and then|also|and|plus|n|&|but|oh and|then"
    stops = r"(?<=[.?!;])(?<!\b[A-Za-z]\.)\s+|\s*\n\s*|\s+-\s+"
    return re.compile(rf"{stops}|,?\s+(?:{joined})\s+(?=(?:{asks}))|,\s+(?=(?:{asks}))", re.IGNORECASE)


@cache
def _asks() -> re.Pattern[str]:
    return re.compile(table("turns_en")["patterns"]["asks_first"], re.IGNORECASE)


def _with_their_subject(pieces: list[str]) -> list[str]:
    """A word that asks without a subject of its own ("next?") belongs to what was said before it."""
    joined: list[str] = []
    for piece in pieces:
        if joined and piece.lower().strip(" ?.!") in BARE:
            joined[-1] += f" {piece}"
        else:
            joined.append(piece)
    return joined


def parts(text: str) -> tuple[str, ...]:
    """The asks of a message in order; the whole message where there is only one."""
    pieces = [p.strip(" ,") for p in _break().split(text) if p and p.strip(" ,.?!")]
    pieces = _with_their_subject(pieces)
    asking = [i for i, piece in enumerate(pieces) if _asks().search(piece)]
    if len(asking) < 2 or len(asking) > 3:
        return (text,)
    made = []
    for i in asking:  # what is told goes with the asks after it; after the last of them, with all
        told = [p for j, p in enumerate(pieces) if j not in asking and (j < i or j > asking[-1])]
        made.append(" ".join([*told, pieces[i]]))
    return tuple(made)
