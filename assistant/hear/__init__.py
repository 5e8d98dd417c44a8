"""Station 4: plain words -> every amount and time in them, each with all its fair readings.

`hear` never guesses: a number that was not read whole is listed in `Heard.unread`, to be asked about.
"""

from __future__ import annotations

import re
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache

from assistant.hear.amounts import amount
from assistant.hear.clock import digit_by_digit, misheard, resolve
from assistant.hear.clock_phrases import clock
from assistant.hear.days import day_or_date
from assistant.hear.hour_till import with_hours_till
from assistant.hear.lexicon import lexicon
from assistant.hear.numbers import kind, read_number
from assistant.hear.plain import LONGEST, plain
from assistant.hear.shares import Found, of_a_size
from assistant.hear.slips import as_meant, no_amount
from assistant.hear.tokens import Words, split
from assistant.hear.units import measured
from assistant.hear.units_apart import with_units_apart
from assistant.message import Amount, Heard, Reading

__all__ = ["digit_by_digit", "hear", "misheard", "resolve"]


@lru_cache(maxsize=64)  # asides, parts and the question look at the same words
def hear(text: str) -> Heard:
    """Every number in `text`, read or listed as unread. Pure; never fails."""
    return _hear(text)[0]


def _hear(text: str) -> tuple[Heard, set[int]]:
    """What was heard, and the indexes of number words that are no amount ("the one", "24/7")."""
    lex = lexicon()
    text = text[:LONGEST] if text.isascii() else plain(text)
    w = as_meant(split(text, lex.mixed))
    amounts: list[Amount] = []
    unread: list[str] = []
    passed: set[int] = set()
    i, count, tokens = 0, len(w.tokens), w.tokens
    while i < count:
        token = tokens[i]
        first = token[0]
        number_like = token in lex.triggers or first.isdecimal() or (first == "." and len(token) > 1)
        if number_like and token in ("a", "an"):
            number_like = i + 1 < count and tokens[i + 1] in lex.after_a
        sized = None if number_like else of_a_size(w, i)
        if not number_like and sized is None and token not in lex.idiom_starts:
            i += 1
            continue
        skipped = no_amount(w, i)
        found = sized or (Found(skipped, passed=True) if skipped else _at(w, i, amounts) if number_like else None)
        if found is None:
            i += 1
            continue
        if found.passed:
            passed.update(range(i, found.end))
        elif found.readings:
            amounts.append(_amount(w, i, found))
        elif (again := _said_again(w, found.end, amounts)) is not None:
            amounts.append(replace(again, start=i))
            found = found._replace(end=again.end)
        else:
            unread.append(w.said(i, found.end))
        i = max(found.end, i + 1)
    amounts = with_hours_till(tokens, with_units_apart(w, amounts))
    return Heard(w.text, tuple(tokens), tuple(amounts), tuple(unread)), passed


def _at(w: Words, i: int, amounts: list[Amount]) -> Found | None:
    """What begins at token `i`: a negative number, a day, a time, or an amount."""
    just_before = amounts[-1] if amounts and amounts[-1].end == i else None
    negative = _negative(w, i, just_before is not None)
    if negative:
        return Found(negative)
    dated = day_or_date(w, i)
    if dated:
        return Found(dated[0], dated[1], passed=not dated[1])
    time = clock(w, i)
    if time:
        past = time.readings[0].unit == "hand" and int(time.readings[0].value) <= 30
        if past and (hour := _hour_before(amounts)) is not None:
            at = int(hour.value) // 60 * 60 + int(time.readings[0].value)
            at += 60 * (at < int(hour.value))  # "mixed at ten to eight, on at quarter past": of the hour after it
            same = Reading("clock", at % 1440, hour.unit)
            return Found(time.end, (same,))  # "poured at ten, started quarter past"
        if time.readings[0].unit == "hand" and not past and (of := _hour_to(w, i, amounts)) is not None:
            return Found(time.end, (of,))
        return Found(time.end, time.readings, None if time.upper is None else Decimal(time.upper))
    after_clock = bool(amounts) and amounts[-1].end == i - 1 and any(r.kind == "clock" for r in amounts[-1].readings)
    found = amount(w, i, after_clock)
    if found is None and (kind(w, i) or w.tokens[i][0].isdecimal()):
        return Found(i + 1, passed=w.tokens[i] in ("oh", "o"))
    return found


_RATHER = re.compile(r"(?:(?:left|in it|in there|on it|,|och|ach|oh|well|so|just|let's|lets|we'll|i'd|\.) ?)*"
                     r"(?:call it|call that|make it|make that|let's say|lets say|say) ")


def _said_again(w: Words, end: int, amounts: list[Amount]) -> Amount | None:
    """ "Three and a bit hundred, call it 320": what could not be read, said again at once."""
    rather = _RATHER.match(" ".join(w.tokens[end : end + 8]) + " ")
    if rather is None:
        return None
    at = end + len(rather[0].split())
    found = _at(w, at, amounts) if at < len(w.tokens) and read_number(w, at) is not None else None
    return _amount(w, at, found) if found is not None and found.readings else None


def _hour_before(amounts: list[Amount]) -> Reading | None:
    """The time of day said last before."""
    clocks = [r for a in amounts for r in a.readings[:1] if r.kind == "clock" and r.unit != "hand"]
    return clocks[-1] if clocks else None


_BY = frozenset({"by", "before", "for"})


def _hour_to(w: Words, i: int, amounts: list[Amount]) -> Reading | None:
    """ "Swimming is at five, all in by twenty to": the last such time before the hour said last, where one was."""
    if i == 0 or w.tokens[i - 1] not in _BY or not amounts:
        return None
    time = clock(w, i)
    hour = next((r for r in amounts[-1].readings if r.kind == "clock" and r.unit != "hand"), None)
    bare = next((r.value for r in amounts[-1].readings if r.kind == "number"), None)
    led = amounts[-1].start > 0 and w.tokens[amounts[-1].start - 1] in ("to", "at", "for", "is", "until", "till", "now")
    if hour is None and bare is not None and led and 1 <= bare <= _NOON and bare == int(bare):
        hour = Reading("clock", int(bare) * 60, "12h")  # "the school run moved to six"
    if time is None or hour is None:
        return None
    at = int(hour.value) // 60 * 60 + int(time.readings[0].value)
    return Reading("clock", (at - 60 * (at >= int(hour.value))) % 1440, hour.unit)


_NOON = 12


def _negative(w: Words, i: int, after_amount: bool) -> int | None:
    """Where "-5 mL" or "minus four" ends; a difference ("500 minus 40") is two amounts."""
    token, following = w.tokens[i], i + 1
    if following >= len(w.tokens):
        return None
    if token == "-":
        if not w.glued(following) or (w.glued(i) and w.tokens[i - 1][-1].isalnum()):
            return None
    elif token not in lexicon().lists["minus"] or after_amount:
        return None
    number = read_number(w, following)
    if number is None:
        return None
    unit = measured(w, following, number.end, number.values[0]) if number.readable else None
    return unit[0] if unit else number.end


def _amount(w: Words, i: int, found: Found) -> Amount:
    lex, tokens, end = lexicon(), w.tokens, found.end
    said = lex.about_after.at(tokens, end)
    if said:
        end = said[0]
    about = (
        said is not None
        or tokens[found.end - 1].endswith("ish")
        or (i > 0 and tokens[i - 1] in lex.lists["about"])
        or tokens[i] in ("couple",)
        or tokens[i : i + 2] == ["a", "couple"]
    )
    words = any(
        kind(w, j)
        or tokens[j] in lex.lists["half"]
        or tokens[j] in lex.lists["quarter"]
        or tokens[j] in lex.lists["third"]
        for j in range(i, found.end)
    )
    return Amount(w.said(i, end), i, end, found.readings, about, words, found.upper)
