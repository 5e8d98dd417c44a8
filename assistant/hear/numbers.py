"""Numbers in digits, in words, and mixed. Values are Decimal; what cannot be read whole is marked unreadable."""

from __future__ import annotations

import re
from decimal import Decimal

from assistant.hear.lexicon import lexicon
from assistant.hear.number_parts import (
    LONGEST,
    Number,
    decimals_at,
    fraction,
    kind,
    point_at,
    read_fraction,
    with_point,
    worth,
)
from assistant.hear.number_words import hundreds, words
from assistant.hear.tokens import Words

__all__ = ["Number", "kind", "read_fraction", "read_number", "worth"]

_WHOLE = re.compile(r"\d+")
_DECIMAL = re.compile(r"\d*\.\d+")
_THOUSANDS = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?")
_HUNDRED_PARTS = (Decimal("0.5"), Decimal("0.25"), Decimal("0.75"))
_SPACED = re.compile(r"\d{3}")


def read_number(w: Words, i: int) -> Number | None:
    """The number that begins at token `i`, or None. Fractions alone ("half") are not read here."""
    token = w.tokens[i]
    if token[0].isdecimal() or (token[0] == "." and len(token) > 1):
        return _then_half(w, _digits(w, i))
    lex = lexicon()
    whole = lex.whole.at(w.tokens, i)
    if whole and kind(w, whole[0]) in ("hundred", "thousand"):
        return hundreds(w, whole[0], Decimal(whole[1]))  # "a couple of hundred"
    if whole:
        return Number(whole[0], (whole[1],), True)
    if token in lex.lists["point"]:
        return _bare_point(w, i)
    if (vague := _and_a_bit_hundred(w, i)) is not None:
        return Number(vague)
    if token in ("a", "an"):
        if kind(w, i + 1) not in ("hundred", "thousand") or w.tokens[i + 1] in lex.plural:
            return None
        return _then_half(w, words(w, i + 1))
    if token in ("oh", "o") and not _oh_is_zero(w, i):
        return None
    return _then_half(w, words(w, i)) if kind(w, i) else None


def _oh_is_zero(w: Words, i: int) -> bool:
    """ "oh point five", "oh one five"; "oh about ninety", "oh two hundred" only exclaim."""
    if point_at(w, i + 1):
        return True
    end = i + 1
    while kind(w, end) in ("unit", "zero"):
        end += 1
    return end - i >= 3 and kind(w, end) not in ("hundred", "thousand", "teen", "ten")


def _and_a_bit_hundred(w: Words, i: int) -> int | None:
    """Where "three and a bit hundred", "four-ish hundred", "four something hundred" ends: how many is not said."""
    if kind(w, i) not in ("unit", "teen"):
        return None
    found = lexicon().some_hundred.at(w.tokens, i + 1)
    return found[0] if found else None


def _digits(w: Words, i: int) -> Number:
    token = w.tokens[i]
    if w.glued(i) and w.tokens[i - 1] == "." and w.glued(i - 1):  # "rate.5": a stop or a point?
        return Number(i + 1)
    if len(token) > LONGEST:
        return Number(i + 1)
    if _WHOLE.fullmatch(token):
        return _whole(w, i, Decimal(token))
    if _THOUSANDS.fullmatch(token):
        return Number(i + 1, (Decimal(token.replace(",", "")),))
    if _DECIMAL.fullmatch(token):
        value = Decimal(token)
        if kind(w, i + 1) in ("hundred", "thousand") and not w.glued(i + 1):
            return Number(i + 2, (value * worth(w, i + 1),), True)
        return Number(i + 1, (value,), style="small")
    part = fraction(token)
    return Number(i + 1, (part,)) if part is not None else Number(i + 1)


def _whole(w: Words, i: int, value: Decimal) -> Number:
    tokens, after = w.tokens, i + 1
    following = tokens[after] if after < len(tokens) else ""
    apart = i
    while apart < len(tokens) and len(tokens[apart]) == 1 and tokens[apart].isdecimal():
        apart += 1
    if 3 <= apart - i <= LONGEST:  # "5 0 0"
        return Number(apart, (Decimal("".join(tokens[i:apart])),), style="run")
    if following in lexicon().lists["point"]:
        decimals = decimals_at(w, after + 1)
        if decimals:
            return Number(decimals[0], (Decimal(f"{value}.{decimals[1]}"),), True)
    if kind(w, after) in ("hundred", "thousand") and not w.glued(after):
        return hundreds(w, after, value)
    part = fraction(following) if "/" in following else None
    if part is not None and not w.glued(after):
        return Number(after + 1, (value + part,))
    if (
        _SPACED.fullmatch(following)
        and 0 < value <= 999
        and len(tokens[i]) <= 3
        and tokens[i][0] != "0"
        and not w.glued(after)
        and not _clock_before(w, i)
    ):
        joined = value * 1000 + Decimal(following)
        values = (joined,) if following[0] == "0" else (joined, Decimal(following))
        return Number(after + 1, values)
    return Number(after, (value,), style="small")


def _clock_before(w: Words, i: int) -> bool:
    """ "at 8 640 left": an hour, then an amount."""
    lists = lexicon().lists
    return i > 0 and (w.tokens[i - 1] in lists["leads"] or w.tokens[i - 1] in lists["at"])


def _bare_point(w: Words, i: int) -> Number | None:
    before = w.tokens[i - 1] if i else ""
    if before in ("this", "that", "some", "the", "a", "what", "any", "which", "end") or not point_at(w, i):
        return None
    return with_point(w, i, 0)


def _then_half(w: Words, number: Number) -> Number:
    """ "six and a half", "two and three quarters": added to the one value read."""
    if len(number.values) != 1 or number.upper is not None:
        return number
    tokens, j = w.tokens, number.end
    if j + 1 >= len(tokens) or tokens[j] not in lexicon().lists["joined_by"] or tokens[j : j + 2] == ["an", "hour"]:
        return number
    part = read_fraction(w, j + 1)
    if part is None or ("/" in tokens[j + 1] and number.values[0] % 1):
        return number
    if tokens[part[0] : part[0] + 1] in (["to"], ["past"], ["till"], ["til"]):
        return number  # "between nine and quarter to eleven": two times of day
    value = number.values[0] + part[1]
    if kind(w, part[0]) in ("hundred", "thousand") and part[1] in _HUNDRED_PARTS:
        return Number(part[0] + 1, (value * worth(w, part[0]),), True)  # "two and a half hundred"
    return Number(part[0], (value,), True)
