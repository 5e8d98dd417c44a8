"""The pieces numbers are made of: what class a word is, decimals after "point", fractions."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from assistant.hear.lexicon import lexicon
from assistant.hear.tokens import Words

LONGEST = 12  # digits; longer is no amount
_DENOMINATORS = {2, 3, 4, 5, 6, 8}


class Number(NamedTuple):
    """A number from token `start` on. Several values: it can fairly be read in several ways, likeliest first."""

    end: int
    values: tuple[Decimal, ...] = ()
    in_words: bool = False
    upper: Decimal | None = None  # "two three hours"
    style: str = ""  # "pair": "two fifty"; "small": one word or a token of digits

    @property
    def readable(self) -> bool:
        return bool(self.values)


def kind(w: Words, i: int) -> str:
    """Class of the number word at `i`: unit teen ten hundred thousand zero, or "" for other words."""
    if i >= len(w.tokens):
        return ""
    found = lexicon().number.get(w.tokens[i])
    return found[0] if found else ""


def worth(w: Words, i: int) -> int:
    return lexicon().number[w.tokens[i]][1]


def small(w: Words, i: int) -> tuple[int, int] | None:
    """(end, value) of a number below a hundred, or None."""
    first = kind(w, i)
    if first in ("unit", "teen"):
        return i + 1, worth(w, i)
    if first == "ten":
        if (
            kind(w, i + 1) == "unit"
            and w.tokens[i] not in lexicon().plural
            and kind(w, i + 2) not in ("hundred", "thousand")
        ):
            return i + 2, worth(w, i) + worth(w, i + 1)
        return i + 1, worth(w, i)
    return None


def point_at(w: Words, i: int) -> bool:
    return i < len(w.tokens) and w.tokens[i] in lexicon().lists["point"] and decimals_at(w, i + 1) is not None


def decimals_at(w: Words, i: int) -> tuple[int, str] | None:
    """(end, digits) of what is said after "point"."""
    if i >= len(w.tokens):
        return None
    if w.tokens[i].isdecimal():
        return (i + 1, w.tokens[i]) if len(w.tokens[i]) <= LONGEST else None
    digits = ""
    while kind(w, i) in ("unit", "zero") and len(digits) < LONGEST:
        digits, i = digits + str(worth(w, i)), i + 1
    if not digits:
        found = small(w, i)
        return (found[0], str(found[1])) if found else None
    return i, digits


def with_point(w: Words, point: int, value: int) -> Number:
    decimals = decimals_at(w, point + 1)
    assert decimals
    return Number(decimals[0], (Decimal(f"{value}.{decimals[1]}"),), True)


def fraction(token: str) -> Decimal | None:
    parts = token.split("/")
    if len(parts) != 2 or not (parts[0].isdecimal() and parts[1].isdecimal()):
        return None
    over, under = int(parts[0]), int(parts[1])
    return Decimal(over) / Decimal(under) if 0 < over < under and under in _DENOMINATORS else None


def read_fraction(w: Words, i: int) -> tuple[int, Decimal] | None:
    """(end, value) of "half", "a quarter", "three quarters", "two thirds", "1/2" at token `i`, or None."""
    tokens, lists = w.tokens, lexicon().lists
    if i >= len(tokens):
        return None
    if "/" in tokens[i]:
        value = fraction(tokens[i])
        return None if value is None else (i + 1, value)
    over = 1
    plain = True
    if tokens[i] in ("a", "an"):
        i += 1
    elif kind(w, i) == "unit" or (tokens[i].isdecimal() and len(tokens[i]) == 1):
        over, plain, i = int(tokens[i]) if tokens[i].isdecimal() else worth(w, i), False, i + 1
    if i >= len(tokens):
        return None
    if tokens[i] in lists["half"] and over == 1:
        return i + 1, Decimal("0.5")
    if tokens[i] in lists["quarter"]:
        return (i + 1, Decimal(over) / 4) if 1 <= over <= 3 else None
    if tokens[i] in lists["third"] and 1 <= over <= 2 and (tokens[i - 1] == "a" or not plain):
        return i + 1, Decimal(over) / 3
    return None
