"""Numbers said in words: "two hundred and forty", "two forty", "two four oh"."""

from __future__ import annotations

from decimal import Decimal

from assistant.hear.lexicon import lexicon
from assistant.hear.number_parts import LONGEST, Number, decimals_at, kind, point_at, small, with_point, worth
from assistant.hear.tokens import Words


def words(w: Words, i: int) -> Number:
    first = kind(w, i)
    if first in ("hundred", "thousand"):
        if i and w.tokens[i - 1] in lexicon().lists["so_many_hundred"]:
            return Number(i + 1)  # "something hundred": how many is not said
        alone = hundreds(w, i, Decimal(1))
        sounds = {"for": 300, "to": 100}.get(w.tokens[i - 1]) if i and first == "hundred" else None
        return (
            alone._replace(values=(alone.values[0], alone.values[0] + sounds)) if sounds else alone
        )  # "for hundred": 100 or 400?
    if first == "zero":
        return _digit_run(w, i)
    found = small(w, i)
    assert found is not None
    end, value = found
    if kind(w, end) in ("hundred", "thousand"):
        return hundreds(w, end, Decimal(value))
    if point_at(w, end):
        return with_point(w, end, value)
    return _spoken(w, i, end, value, first)


def hundreds(w: Words, i: int, value: Decimal) -> Number:
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
    elif kind(w, end) == "zero" and kind(w, end + 1) == "unit":  # "a hundred oh five"
        total, end = total + worth(w, end + 1), end + 2
    if kind(w, end) == "thousand":
        return hundreds(w, end, total)
    if point_at(w, end):
        decimals = decimals_at(w, end + 1)
        assert decimals
        return Number(decimals[0], (Decimal(f"{total}.{decimals[1]}"),), True)
    return Number(end, (total,), True)


def _rest(w: Words, i: int) -> tuple[int, int] | None:
    """What is added after the word hundred: "and forty", "and 40", not "two fifty" said anew."""
    start = _skip_and(w, i)
    if start > i and start < len(w.tokens) and w.tokens[start].isdecimal() and len(w.tokens[start]) <= 2:
        return start + 1, int(w.tokens[start])
    rest = small(w, start)
    if rest is None or kind(w, rest[0]) in ("hundred", "thousand") or _homophone(w, start):
        return None
    return (
        None
        if kind(w, rest[0] - 1) == "unit" and rest[0] - start == 1 and kind(w, rest[0]) in ("teen", "ten")
        else rest
    )


def _below_thousand(w: Words, i: int) -> tuple[int, int] | None:
    first = small(w, i)
    if first and kind(w, first[0]) == "hundred":
        rest = small(w, _skip_and(w, first[0] + 1))
        if rest:
            return rest[0], first[1] * 100 + rest[1]
        return first[0] + 1, first[1] * 100
    return None if first is None or kind(w, first[0]) == "thousand" else first


def _skip_and(w: Words, i: int) -> int:
    return i + 1 if i < len(w.tokens) and w.tokens[i] in lexicon().lists["joined_by"] else i


def _homophone(w: Words, i: int) -> bool:
    """ "five hundred two much"."""
    return w.tokens[i] in ("two", "tow") and i + 1 < len(w.tokens) and w.tokens[i + 1] in ("much", "many")


def _spoken(w: Words, i: int, end: int, value: int, first: str) -> Number:
    """What follows a number below a hundred when it is said the short way: "two fifty", "one oh five"."""
    follows = kind(w, end)
    plain = Number(end, (Decimal(value),), True, style="small")
    if not follows or w.tokens[end - 1] in lexicon().plural or _homophone(w, end):
        return plain
    if first == "unit" and follows in ("unit", "zero"):
        return _digit_run(w, i)
    if follows == "zero" and kind(w, end + 1) == "unit" and value >= 10:  # "twelve oh five"
        return Number(end + 2, (Decimal(value * 100 + worth(w, end + 1)),), True, style="pair")
    if follows not in ("teen", "ten"):
        return plain
    found = small(w, end)
    assert found is not None
    last, tail = found
    if kind(w, last) in ("hundred", "thousand"):  # "two three hundred": which?
        return Number(last + 1)
    if first == "ten" and not (20 <= value <= 23 and tail < 60):  # "thirty forty"
        if tail > value and value % 10 == 0:
            return Number(last, (Decimal(value),), True, Decimal(tail))
        return plain
    joined = Decimal(value * 100 + tail)
    if point_at(w, last):
        decimals = decimals_at(w, last + 1)
        assert decimals
        return Number(decimals[0], (Decimal(f"{joined}.{decimals[1]}"),), True)
    upper = (
        Decimal(tail) if first in ("unit", "teen") and 10 <= tail <= 60 and tail % 5 == 0 and value % 5 == 0 else None
    )
    return Number(last, (joined,), True, upper, "pair")


def _digit_run(w: Words, i: int) -> Number:
    """Digits said one by one: "four one five"."""
    end = i
    while kind(w, end) in ("unit", "zero") and not _homophone(w, end):
        end += 1
    if w.tokens[end - 1] in ("oh", "o") and 1 < end - i < 3:  # "five oh no": an exclamation
        end -= 1
    if kind(w, end) in ("hundred", "thousand", "teen", "ten"):  # "one two hundred": which?
        return Number(end + 1)
    if end - i > LONGEST:
        return Number(end)
    digits = [worth(w, j) for j in range(i, end)]
    value = Decimal("".join(map(str, digits)))
    if point_at(w, end):
        decimals = decimals_at(w, end + 1)
        assert decimals
        return Number(decimals[0], (Decimal(f"{value}.{decimals[1]}"),), True)
    if len(digits) == 2 and 0 < digits[0] == digits[1] - 1:  # "seven eight": 78, or 7 or 8
        return Number(end, (value, Decimal(digits[0])), True, Decimal(digits[1]))
    return Number(end, (value,), True, style="run" if len(digits) > 1 else "small")
