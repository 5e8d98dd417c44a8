"""Days and dates: "tomorrow", "last night", "Sunday", "the 14th", "5 March", "29/11"."""

from __future__ import annotations

import re
from datetime import date

from assistant.hear.lexicon import lexicon
from assistant.hear.numbers import kind, worth
from assistant.hear.tokens import Words
from assistant.message import Reading

_ISO = re.compile(r"\d{4}-\d\d-\d\d")
_PARTED = re.compile(r"(\d{1,2})([/.])(\d{1,2})(?:\2(\d{4}|\d\d))?")
_ORDINAL = re.compile(r"(\d{1,2})(?:st|nd|rd|th)")

_OF_A_DAY = re.compile(r"(?:\d{1,2}(?:[:.]\d\d)? ?[ap]m|\d{1,2}:\d\d|night|morning|evening|afternoon)\b")

Found = tuple[int, tuple[Reading, ...]]


def day_or_date(w: Words, i: int) -> Found | None:
    """(end, readings) of the day or date at token `i`; empty readings: an ordinal that is no day ("5th feed")."""
    token = w.tokens[i]
    if token[0].isdecimal():
        return _from_digits(w, i)
    if token in lexicon().month:
        found = _month_first(w, i)
        if found:
            return found
    ordinal = _ordinal(w, i)
    if ordinal:
        return _with_month(w, ordinal) or _the_ordinal(w, i, ordinal)
    return _named_day(w, i)


def _date(year: int | None, month: int, day: int) -> Reading | None:
    try:
        found = date(year or 2024, month, day)  # a leap year: 29 February may be meant
    except ValueError:
        return None
    return Reading("date", found.isoformat() if year else f"--{month:02}-{day:02}", "date")


def _named_day(w: Words, i: int) -> Found | None:
    lex = lexicon()
    found = lex.day.at(w.tokens, i)
    if found is None:
        return None
    if w.tokens[i] in lex.lists["short_day"] and not _is_a_day(w, i):
        return None
    return found[0], (Reading("day", found[1], "day"),)


def _is_a_day(w: Words, i: int) -> bool:
    """Is a short form that is a word of its own ("sat") a day here: "next sat", "sun 7pm", "fri sat and sun"?"""
    lists = lexicon().lists
    if i > 0 and w.tokens[i - 1] in lists["short_day_after"]:
        return True
    back, on = i - 1, i + 1
    while back >= 0 and w.tokens[back] in lists["short_day_join"]:
        back -= 1
    while on < len(w.tokens) and w.tokens[on] in lists["short_day_join"]:
        on += 1
    if w.tokens[i + 1 : i + 2] and w.tokens[i + 1] in lists["short_day_not"]:
        return False  # "on fri, sat up in bed"
    if i > 0 and w.tokens[i - 1] in lists["short_day_no"]:
        return False  # "she sat, sun on her face"
    if _OF_A_DAY.match(" ".join(w.tokens[i + 1 : i + 3])):
        return True  # "sun 7pm", "sat night"
    beside = {w.tokens[at] for at in (back, on) if 0 <= at < len(w.tokens)}
    return bool(beside & lists["day_short"])


def _from_digits(w: Words, i: int) -> Found | None:
    token = w.tokens[i]
    if _ISO.fullmatch(token):
        year, month, day = map(int, token.split("-"))
        found = _date(year, month, day)
        return (i + 1, (found,)) if found else None
    parted = _PARTED.fullmatch(token)
    if parted:
        return _parted(w, i, parted)
    if re.fullmatch(r"\d+(?:st|nd|rd|th)", token):
        ordinal = _ORDINAL.fullmatch(token)
        if ordinal is None or not 1 <= int(ordinal[1]) <= 31:
            return i + 1, ()
        return _with_month(w, (i + 1, int(ordinal[1]))) or _the_ordinal(w, i, (i + 1, int(ordinal[1])))
    if token.isdecimal() and len(token) <= 2 and 1 <= int(token) <= 31:
        return _with_month(w, (i + 1, int(token)))
    return None


def _parted(w: Words, i: int, parted: re.Match[str]) -> Found | None:
    """ "29/11", "29.11.26": day and month in either order where both can be."""
    first, second = int(parted[1]), int(parted[3])
    year = int(parted[4]) if parted[4] else None
    if year is not None and year < 100:
        year += 2000
    if parted[2] == "." and year is None:
        return None
    lex = lexicon()
    dated = i > 0 and w.tokens[i - 1] in lex.lists["date_before"]
    fraction = year is None and 0 < first < second and second in (2, 3, 4, 5, 6, 8)
    if (fraction and not dated) or (year is None and lex.unit.at(w.tokens, i + 1)):
        return None
    readings = [_date(year, second, first)]
    if first != second:
        readings.append(_date(year, first, second))
    kept = tuple(reading for reading in readings if reading)
    return (i + 1, kept) if kept else None


def _ordinal(w: Words, i: int) -> tuple[int, int] | None:
    """(end, day) of an ordinal said in words."""
    lex = lexicon()
    if i >= len(w.tokens):
        return None
    match = _ORDINAL.fullmatch(w.tokens[i])
    if match:
        return i + 1, int(match[1])
    if kind(w, i) == "ten" and i + 1 < len(w.tokens) and lex.ordinal.get(w.tokens[i + 1], 99) < 10:
        if w.tokens[i + 1] == "second" and (i == 0 or w.tokens[i - 1] != "the"):
            return None  # "every twenty second"
        return i + 2, worth(w, i) + lex.ordinal[w.tokens[i + 1]]
    return (i + 1, lex.ordinal[w.tokens[i]]) if w.tokens[i] in lex.ordinal else None


def _year(w: Words, end: int) -> tuple[int, int | None]:
    at = end + 1 if w.tokens[end : end + 1] == [","] else end
    if at < len(w.tokens) and re.fullmatch(r"20\d\d", w.tokens[at]) and not lexicon().unit.at(w.tokens, at + 1):
        return at + 1, int(w.tokens[at])
    return end, None


def _with_month(w: Words, day: tuple[int, int]) -> Found | None:
    """ "5 March", "5th of March 2027"."""
    end, number = day
    if w.tokens[end : end + 1] == ["of"]:
        end += 1
    month = lexicon().month.get(w.tokens[end]) if end < len(w.tokens) else None
    if month is None or (
        w.tokens[end] in ("may", "march") and w.tokens[end + 1 : end + 2] in (["i"], ["we"], ["be"], ["he"], ["she"])
    ):
        return None
    end, year = _year(w, end + 1)
    found = _date(year, month, number)
    return (end, (found,)) if found else None


def _month_first(w: Words, i: int) -> Found | None:
    """ "March 5", "March the fifth"."""
    lex, end = lexicon(), i + 1
    if w.tokens[end : end + 1] == ["the"]:
        end += 1
    if end >= len(w.tokens):
        return None
    ordinal = _ordinal(w, end)
    token = w.tokens[end]
    if ordinal is None and token.isdecimal() and len(token) <= 2 and 1 <= int(token) <= 31:
        busy = lex.unit.at(w.tokens, end + 1) or kind(w, end + 1)
        if busy or (w.tokens[i] in ("may", "mar") and i and w.tokens[i - 1] not in lex.lists["date_before"]):
            return None
        ordinal = end + 1, int(token)
    if ordinal is None:
        return None
    end, year = _year(w, ordinal[0])
    found = _date(year, lex.month[w.tokens[i]], ordinal[1])
    return (end, (found,)) if found else None


def _the_ordinal(w: Words, i: int, ordinal: tuple[int, int]) -> Found | None:
    """ "the 14th", "on the third": a day of the month; "the 5th feed", "third time" is not."""
    lex = lexicon()
    end, number = ordinal
    following = lex.unit.at(w.tokens, end)
    digits = w.tokens[i][0].isdecimal()
    if w.tokens[end : end + 1] and w.tokens[end] in lex.lists["no_day"]:
        return (end, ())  # "the sixth floor"
    the = i > 0 and w.tokens[i - 1] == "the"
    before = w.tokens[i - 2] if i > 1 else ""
    dated = the and (before in lex.lists["date_before"] or lex.day.at(w.tokens, i - 2) is not None)
    if following and following[1].kind in ("count", "time") and (digits or not dated):
        return (end, ()) if digits or end - i > 1 else None
    if digits or dated or (the and end - i > 1):
        return end, (Reading("day", str(number), "day"),)
    return (end, ()) if end - i > 1 else None
