"""Hour and minute as people say them, and the half of the day said beside them."""

from __future__ import annotations

import re
from typing import NamedTuple

from assistant.hear.lexicon import lexicon
from assistant.hear.numbers import kind, worth
from assistant.hear.tokens import Words
from assistant.message import Reading

_COLON = re.compile(r"(\d{1,2}):([0-5]\d)")
_DOT = re.compile(r"(\d{1,2})\.([0-5]\d)")
FOUR_DIGITS = re.compile(r"([01]\d|2[0-3])([0-5]\d)")
_THREE = re.compile(r"(\d)([0-5]\d)")
NOON, DAY = 720, 1440


class Said(NamedTuple):
    """Hour and minute read from token `i` on: minutes after midnight, and whether the half of the day is plain."""

    end: int
    minutes: int
    plain: bool
    style: str  # colon dot hour four three pair


class Clock(NamedTuple):
    end: int
    readings: tuple[Reading, ...]
    upper: int | None = None


def hour_minute(w: Words, i: int) -> Said | None:
    """The longest hour and minute at token `i`."""
    token = w.tokens[i]
    if token[0].isdecimal():
        return _in_digits(token, i)
    if kind(w, i) in ("unit", "teen", "ten", "zero"):
        return _in_words(w, i)
    return None


def _in_digits(token: str, i: int) -> Said | None:
    for pattern, style in ((_COLON, "colon"), (_DOT, "dot"), (FOUR_DIGITS, "four"), (_THREE, "three")):
        match = pattern.fullmatch(token)
        if match:
            hour, minute = int(match[1]), int(match[2])
            if hour == 24 and minute == 0:
                return Said(i + 1, 0, True, style)
            if hour > 23 or (style in ("dot", "three") and hour == 0):
                return None
            plain = hour > 12 or hour == 0 or (style in ("four", "colon") and token[0] == "0")
            return Said(i + 1, hour * 60 + minute, plain, style)
    if token.isdecimal() and len(token) <= 2 and int(token) <= 24:
        return Said(i + 1, int(token) % 24 * 60, int(token) > 12 or int(token) == 0 or token[0] == "0", "hour")
    return None


def _in_words(w: Words, i: int) -> Said | None:
    led = kind(w, i) == "zero"  # "oh six hundred", "zero seven thirty"
    at = i + 1 if led else i
    if kind(w, at) == "unit" or (kind(w, at) == "teen" and not led):
        hour, end = worth(w, at), at + 1
    elif w.tokens[at : at + 1] == ["twenty"] and not led:
        hour, end = 20, at + 1
        if kind(w, end) == "unit" and worth(w, end) > 3:
            return None  # "at twenty six": no hour
        if kind(w, end) == "unit":
            hour, end = hour + worth(w, end), end + 1
    else:
        return None
    plain = led or hour > 12
    minute = _minute(w, end)
    if minute:
        return Said(minute[0], hour * 60 + minute[1], plain, "pair")
    if kind(w, end) == "hundred" and plain:
        return Said(end + 1, hour * 60, plain, "pair")
    return None if led else Said(end, hour * 60, plain, "hour")


def _minute(w: Words, i: int) -> tuple[int, int] | None:
    """Minutes after a spoken hour: "fifteen", "forty five", "oh five"."""
    first = kind(w, i)
    if first == "zero" and w.tokens[i] in ("oh", "o") and kind(w, i + 1) == "unit":
        return i + 2, worth(w, i + 1)
    if first == "teen":
        return i + 1, worth(w, i)
    if first == "ten" and worth(w, i) < 60 and w.tokens[i] not in lexicon().plural:
        if kind(w, i + 1) == "unit" and kind(w, i + 2) not in ("hundred", "thousand"):
            return i + 2, worth(w, i) + worth(w, i + 1)
        return i + 1, worth(w, i)
    return None


def on_clock(minutes: int, half: str, plain: bool = False) -> Reading:
    """Reading of a clock time. `half`: am, pm, a part of the day, or "" when unsaid."""
    if plain or not half or minutes >= 780:
        if plain or minutes >= 780:
            return Reading("clock", minutes % DAY, "24h")
        return Reading("clock", minutes % NOON + NOON * (minutes % NOON < 60), "12h")  # 12:40, not 0:40
    first_half = minutes % NOON
    late = half in ("pm", "afternoon", "evening") or (half == "night" and first_half >= 300)
    return Reading("clock", first_half + NOON * late, "24h")


def part_of_day(w: Words, start: int, end: int) -> tuple[int, str]:
    """(index after it, part) of the part of the day said beside a time at [start, end).

    "in the morning" belongs to the time and is taken in; "tonight" and "this morning" are a day too and stay outside.
    """
    lex, tokens = lexicon(), w.tokens
    j = end
    if tokens[j : j + 1] == ["on"]:
        j += 1
    day = lex.day.at(tokens, j)
    direct = lex.part.at(tokens, j)
    after = direct or (lex.part.at(tokens, day[0]) if day else None)
    if after:
        inside = direct is not None and tokens[end] in ("in", "at", "of")
        return (after[0] if inside else end), after[1]
    j = start
    while j > 0 and (
        tokens[j - 1] in lex.lists["leads"] or tokens[j - 1] in lex.lists["at"] or tokens[j - 1] in lex.lists["about"]
    ):
        j -= 1
    for k in range(max(0, j - 4), j):
        before = lex.part.at(tokens, k)
        if before and before[0] == j:
            return end, before[1]
    return end, ""
