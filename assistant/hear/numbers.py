"""Numbers in digits, in words, and mixed. Values are Decimal; what cannot be read whole is marked unreadable."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NamedTuple

from assistant.hear.lexicon import lexicon
from assistant.hear.tokens import Words

_WHOLE = re.compile(r"\d+")
_DECIMAL = re.compile(r"\d*\.\d+")
_THOUSANDS = re.compile(r"[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?")
_SPACED = re.compile(r"\d{3}")
_LONGEST = 12        # digits; longer is no amount
_DENOMINATORS = {2, 3, 4, 5, 6, 8}


class Number(NamedTuple):
    """A number from token `start` on. Several values: it can fairly be read in several ways, likeliest first."""

    end: int
    values: tuple[Decimal, ...] = ()
    in_words: bool = False
    upper: Decimal | None = None        # "two three hours"
    style: str = ""                     # "pair": "two fifty"; "small": one word or a token of digits

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


def read_number(w: Words, i: int) -> Number | None:
    """The number that begins at token `i`, or None. Fractions alone ("half") are not read here."""
    token = w.tokens[i]
    if token[0].isdigit() or (token[0] == "." and len(token) > 1):
        return _then_half(w, _digits(w, i))
    lex = lexicon()
    whole = lex.whole.at(w.tokens, i)
    if whole:
        return Number(whole[0], (whole[1],), True)
    if token in lex.lists["point"]:
        return _bare_point(w, i)
    if token in ("a", "an"):
        if kind(w, i + 1) not in ("hundred", "thousand") or w.tokens[i + 1] in lex.plural:
            return None
        return _then_half(w, _words(w, i + 1))
    if token in ("oh", "o") and not _oh_is_zero(w, i):
        return None
    return _then_half(w, _words(w, i)) if kind(w, i) else None


def _oh_is_zero(w: Words, i: int) -> bool:
    """"oh point five", "oh one five"; "oh about ninety", "oh two hundred" only exclaim."""
    if _point_at(w, i + 1):
        return True
    end = i + 1
    while kind(w, end) in ("unit", "zero"):
        end += 1
    return end - i >= 3 and kind(w, end) not in ("hundred", "thousand", "teen", "ten")


# --- digits ---------------------------------------------------------------------------------------------------

def _digits(w: Words, i: int) -> Number:
    token = w.tokens[i]
    if w.glued(i) and w.tokens[i - 1] == "." and w.glued(i - 1):      # "rate.5": a stop or a point?
        return Number(i + 1)
    if len(token) > _LONGEST:
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
    fraction = _fraction(token)
    return Number(i + 1, (fraction,)) if fraction is not None else Number(i + 1)


def _fraction(token: str) -> Decimal | None:
    parts = token.split("/")
    if len(parts) != 2 or not (parts[0].isdigit() and parts[1].isdigit()):
        return None
    over, under = int(parts[0]), int(parts[1])
    return Decimal(over) / Decimal(under) if 0 < over < under and under in _DENOMINATORS else None


def _whole(w: Words, i: int, value: Decimal) -> Number:
    tokens, after = w.tokens, i + 1
    following = tokens[after] if after < len(tokens) else ""
    apart = i
    while apart < len(tokens) and len(tokens[apart]) == 1 and tokens[apart].isdigit():
        apart += 1
    if 3 <= apart - i <= _LONGEST:                                                # "5 0 0"
        return Number(apart, (Decimal("".join(tokens[i:apart])),), style="run")
    if following in lexicon().lists["point"]:
        decimals = _decimals(w, after + 1)
        if decimals:
            return Number(decimals[0], (Decimal(f"{value}.{decimals[1]}"),), True)
    if kind(w, after) in ("hundred", "thousand") and not w.glued(after):
        return _hundreds(w, after, value)
    part = _fraction(following) if "/" in following else None
    if part is not None and not w.glued(after):
        return Number(after + 1, (value + part,))
    if _SPACED.fullmatch(following) and 0 < value <= 999 and len(tokens[i]) <= 3 and tokens[i][0] != "0" \
            and not w.glued(after) and not _clock_before(w, i):
        joined = value * 1000 + Decimal(following)
        values = (joined,) if following[0] == "0" else (joined, Decimal(following))
        return Number(after + 1, values)
    return Number(after, (value,), style="small")


def _clock_before(w: Words, i: int) -> bool:
    """"at 8 640 left": an hour, then an amount."""
    lists = lexicon().lists
    return i > 0 and (w.tokens[i - 1] in lists["leads"] or w.tokens[i - 1] in lists["at"])


# --- words ----------------------------------------------------------------------------------------------------

def _small(w: Words, i: int) -> tuple[int, int] | None:
    """(end, value) of a number below a hundred, or None."""
    first = kind(w, i)
    if first in ("unit", "teen"):
        return i + 1, worth(w, i)
    if first == "ten":
        if kind(w, i + 1) == "unit" and w.tokens[i] not in lexicon().plural and kind(w, i + 2) not in ("hundred", "thousand"):
            return i + 2, worth(w, i) + worth(w, i + 1)
        return i + 1, worth(w, i)
    return None


def _words(w: Words, i: int) -> Number:
    first = kind(w, i)
    if first in ("hundred", "thousand"):
        alone = _hundreds(w, i, Decimal(1))
        sounds = {"for": 300, "to": 100}.get(w.tokens[i - 1]) if i and first == "hundred" else None
        return alone._replace(values=(alone.values[0], alone.values[0] + sounds)) if sounds else alone    # "for hundred": 100 or 400?
    if first == "zero":
        return _digit_run(w, i)
    small = _small(w, i)
    assert small is not None
    end, value = small
    if kind(w, end) in ("hundred", "thousand"):
        return _hundreds(w, end, Decimal(value))
    if _point_at(w, end):
        return _with_point(w, end, value)
    return _spoken(w, i, end, value, first)


def _hundreds(w: Words, i: int, value: Decimal) -> Number:
    """From the word hundred or thousand at `i`, `value` before it."""
    if kind(w, i) == "thousand":
        total, end = value * 1000, i + 1
        below = _below_thousand(w, _skip_and(w, end))
        if below:
            return Number(below[0], (total + below[1],), True)
        return Number(end, (total,), True)
    total, end = value * 100, i + 1
    rest = _rest(w, end) if w.tokens[i] not in lexicon().plural else None
    if rest:
        total, end = total + rest[1], rest[0]
    elif kind(w, end) == "zero" and kind(w, end + 1) == "unit":       # "a hundred oh five"
        total, end = total + worth(w, end + 1), end + 2
    if kind(w, end) == "thousand":
        return _hundreds(w, end, total)
    if _point_at(w, end):
        decimals = _decimals(w, end + 1)
        assert decimals
        return Number(decimals[0], (Decimal(f"{total}.{decimals[1]}"),), True)
    return Number(end, (total,), True)


def _rest(w: Words, i: int) -> tuple[int, int] | None:
    """What is added after the word hundred: "and forty", "and 40", not the "two fifty" of "two hundred and two fifty"."""
    start = _skip_and(w, i)
    if start > i and start < len(w.tokens) and w.tokens[start].isdigit() and len(w.tokens[start]) <= 2:
        return start + 1, int(w.tokens[start])
    rest = _small(w, start)
    if rest is None or kind(w, rest[0]) in ("hundred", "thousand") or _homophone(w, start):
        return None
    return None if kind(w, rest[0] - 1) == "unit" and rest[0] - start == 1 and kind(w, rest[0]) in ("teen", "ten") else rest


def _below_thousand(w: Words, i: int) -> tuple[int, int] | None:
    small = _small(w, i)
    if small and kind(w, small[0]) == "hundred":
        rest = _small(w, _skip_and(w, small[0] + 1))
        if rest:
            return rest[0], small[1] * 100 + rest[1]
        return small[0] + 1, small[1] * 100
    return None if small is None or kind(w, small[0]) == "thousand" else small


def _skip_and(w: Words, i: int) -> int:
    return i + 1 if i < len(w.tokens) and w.tokens[i] in lexicon().lists["joined_by"] else i


def _homophone(w: Words, i: int) -> bool:
    """"five hundred two much"."""
    return w.tokens[i] in ("two", "tow") and i + 1 < len(w.tokens) and w.tokens[i + 1] in ("much", "many")


def _spoken(w: Words, i: int, end: int, value: int, first: str) -> Number:
    """What follows a number below a hundred when it is said the short way: "two fifty", "one oh five"."""
    follows = kind(w, end)
    plain = Number(end, (Decimal(value),), True, style="small")
    if not follows or w.tokens[end - 1] in lexicon().plural or _homophone(w, end):
        return plain
    if first == "unit" and follows in ("unit", "zero"):
        return _digit_run(w, i)
    if follows == "zero" and kind(w, end + 1) == "unit" and value >= 10:        # "twelve oh five"
        return Number(end + 2, (Decimal(value * 100 + worth(w, end + 1)),), True, style="pair")
    if follows not in ("teen", "ten"):
        return plain
    small = _small(w, end)
    assert small is not None
    last, tail = small
    if kind(w, last) in ("hundred", "thousand"):                       # "two three hundred": which?
        return Number(last + 1)
    if first == "ten" and not (20 <= value <= 23 and tail < 60):       # "thirty forty"
        if tail > value and value % 10 == 0:
            return Number(last, (Decimal(value),), True, Decimal(tail))
        return plain
    joined = Decimal(value * 100 + tail)
    if _point_at(w, last):
        decimals = _decimals(w, last + 1)
        assert decimals
        return Number(decimals[0], (Decimal(f"{joined}.{decimals[1]}"),), True)
    upper = Decimal(tail) if first in ("unit", "teen") and 10 <= tail <= 60 and tail % 5 == 0 and value % 5 == 0 else None
    return Number(last, (joined,), True, upper, "pair")


def _digit_run(w: Words, i: int) -> Number:
    """Digits said one by one: "four one five"."""
    end = i
    while kind(w, end) in ("unit", "zero") and not _homophone(w, end):
        end += 1
    if w.tokens[end - 1] in ("oh", "o") and 1 < end - i < 3:              # "five oh no": an exclamation
        end -= 1
    if kind(w, end) in ("hundred", "thousand", "teen", "ten"):         # "one two hundred": which?
        return Number(end + 1)
    if end - i > _LONGEST:
        return Number(end)
    digits = [worth(w, j) for j in range(i, end)]
    value = Decimal("".join(map(str, digits)))
    if _point_at(w, end):
        decimals = _decimals(w, end + 1)
        assert decimals
        return Number(decimals[0], (Decimal(f"{value}.{decimals[1]}"),), True)
    if len(digits) == 2 and 0 < digits[0] == digits[1] - 1:            # "seven eight": 78, or 7 or 8
        return Number(end, (value, Decimal(digits[0])), True, Decimal(digits[1]))
    return Number(end, (value,), True, style="run" if len(digits) > 1 else "small")


# --- points and halves ----------------------------------------------------------------------------------------

def _point_at(w: Words, i: int) -> bool:
    return i < len(w.tokens) and w.tokens[i] in lexicon().lists["point"] and _decimals(w, i + 1) is not None


def _decimals(w: Words, i: int) -> tuple[int, str] | None:
    """(end, digits) of what is said after "point"."""
    if i >= len(w.tokens):
        return None
    if w.tokens[i].isdigit():
        return (i + 1, w.tokens[i]) if len(w.tokens[i]) <= _LONGEST else None
    digits = ""
    while kind(w, i) in ("unit", "zero") and len(digits) < _LONGEST:
        digits, i = digits + str(worth(w, i)), i + 1
    if not digits:
        small = _small(w, i)
        return (small[0], str(small[1])) if small else None
    return i, digits


def _with_point(w: Words, point: int, value: int) -> Number:
    decimals = _decimals(w, point + 1)
    assert decimals
    return Number(decimals[0], (Decimal(f"{value}.{decimals[1]}"),), True)


def _bare_point(w: Words, i: int) -> Number | None:
    before = w.tokens[i - 1] if i else ""
    if before in ("this", "that", "some", "the", "a", "what", "any", "which", "end") or not _point_at(w, i):
        return None
    return _with_point(w, i, 0)


def _then_half(w: Words, number: Number) -> Number:
    """"six and a half", "two and three quarters": added to the one value read."""
    if len(number.values) != 1 or number.upper is not None:
        return number
    tokens, j = w.tokens, number.end
    if j + 1 >= len(tokens) or tokens[j] not in lexicon().lists["joined_by"] or tokens[j] == "an":
        return number
    part = read_fraction(w, j + 1)
    if part is None or "/" in tokens[j + 1] and number.values[0] % 1:
        return number
    return Number(part[0], (number.values[0] + part[1],), True)


def read_fraction(w: Words, i: int) -> tuple[int, Decimal] | None:
    """(end, value) of "half", "a quarter", "three quarters", "two thirds", "1/2" at token `i`, or None."""
    tokens, lists = w.tokens, lexicon().lists
    if i >= len(tokens):
        return None
    if "/" in tokens[i]:
        value = _fraction(tokens[i])
        return None if value is None else (i + 1, value)
    over = 1
    plain = True
    if tokens[i] in ("a", "an"):
        i += 1
    elif kind(w, i) == "unit" or (tokens[i].isdigit() and len(tokens[i]) == 1):
        over, plain, i = int(tokens[i]) if tokens[i].isdigit() else worth(w, i), False, i + 1
    if i >= len(tokens):
        return None
    if tokens[i] in lists["half"] and over == 1:
        return i + 1, Decimal("0.5")
    if tokens[i] in lists["quarter"]:
        return (i + 1, Decimal(over) / 4) if 1 <= over <= 3 else None
    if tokens[i] in lists["third"] and 1 <= over <= 2 and (tokens[i - 1] == "a" or not plain):
        return i + 1, Decimal(over) / 3
    return None
