"""What an amount is "per": a time ("an hour", "/h") or a thing ("per ml", "to the ounce")."""

from __future__ import annotations

from decimal import Decimal

from assistant.hear.lexicon import lexicon
from assistant.hear.tokens import Words

_NOT_RATE = {"ago", "later", "late", "early", "earlier", "before", "after", "into", "behind", "longer", "sooner"}
_LETTERS = {"m", "s", "d", "h", "p"}


def per_time(w: Words, j: int) -> tuple[int, str] | None:
    """(end, "h" | "min" | "s" | "d") of "/h", "an hour", "per day" at token `j`, or None."""
    lex, tokens = lexicon(), w.tokens
    if j >= len(tokens):
        return None
    per = lex.per.at(tokens, j)
    if per is None:
        return None
    found = lex.per_time.at(tokens, per[0])
    if found is None:
        return None
    if (
        tokens[j] not in ("/", "per")
        and found[0] < len(tokens)
        and (tokens[found[0]] in _NOT_RATE or tokens[found[0] : found[0] + 2] == ["from", "now"])
    ):
        return None
    word = tokens[per[0]]
    if word in _LETTERS and tokens[j] not in ("/", "per", "p"):
        return None
    if tokens[j] in ("and", "en") and (found[1] != "h" or tokens[found[0] : found[0] + 1] == ["and"]):
        return None
    return found


def per_thing(w: Words, j: int) -> tuple[int, str, Decimal] | None:
    """(end, "ml" | "oz" | "l" | "other", how many) of "/ml", "per 100 ml", "to the ounce", or None."""
    lex, tokens = lexicon(), w.tokens
    if tokens[j : j + 2] in (["to", "the"], ["to", "a"]):
        end = j + 2
    else:
        per = lex.per.at(tokens, j)
        if per is None or tokens[j] in ("and", "en"):
            return None
        end = per[0]
    many = Decimal(1)
    if tokens[j] in ("/", "per") and end < len(tokens) and tokens[end] in ("1", "10", "100", "1000"):
        many, end = Decimal(tokens[end]), end + 1
    found = lex.per_thing.at(tokens, end)
    return (found[0], found[1], many) if found and many else None


def loose_end(w: Words, end: int) -> bool:
    """True when "/" or "per" follows and what it leads to was not read: the amount is unread."""
    tokens, lex = w.tokens, lexicon()
    if end >= len(tokens) or tokens[end] not in ("/", "per"):
        return False
    if tokens[end] == "/" and not w.glued(end) and not w.glued(end + 1):  # " / " only parts two amounts
        return False
    if end + 1 >= len(tokens):
        return tokens[end] == "/"
    if tokens[end] == "/" and tokens[end + 1].isdecimal() and tokens[end - 1].isdecimal():  # "85/765": two numbers
        return False
    unit = lex.unit.at(tokens, end + 1)
    if unit and (unit[1].kind == "count" or unit[1].unit == "day"):
        return False
    return tokens[end] == "/" or lex.per_thing.at(tokens, end + 1) is not None or unit is not None
