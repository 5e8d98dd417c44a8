"""Parts of things and one of a thing: "half an hour", "three quarters of the bag", "a litre and a half", "the one"."""

from __future__ import annotations

from decimal import Decimal
from typing import NamedTuple

from assistant.hear.lexicon import lexicon
from assistant.hear.numbers import kind, read_fraction, read_number
from assistant.hear.per import per_thing, per_time
from assistant.hear.time_or_number import also_clock, led_to_time, till_so_much_past
from assistant.hear.tokens import Words
from assistant.hear.units import measured, unit_at
from assistant.message import Reading

_SHARE_WORDS = {
    "full",
    "left",
    "gone",
    "empty",
    "done",
    "through",
    "strength",
    "way",
    "finished",
    "used",
    "remaining",
    "eaten",
    "in",
}
_THE = {
    "a",
    "an",
    "the",
    "his",
    "her",
    "my",
    "our",
    "this",
    "that",
    "each",
    "of",
    "last",
    "every",
    "their",
    "your",
    "whole",
    "it",
    "one",
}
_SURELY_TIME = {"at", "@", "since", "until", "till", "til", "'til", "untill"}
_AFTER_TIME = {
    "and",
    "so",
    "to",
    "till",
    "til",
    "until",
    "when",
    "it",
    "is",
    "the",
    "i",
    "he",
    "she",
    "at",
    "then",
    "on",
    "tonight",
    "today",
    "tomorrow",
    "in",
    "now",
    "but",
    "or",
    "please",
    "for",
    "with",
    "if",
    "because",
    "cos",
    "how",
    "what",
    "will",
    "my",
    "we",
}


class Found(NamedTuple):
    """Readings of the words up to `end`; none: unread. `passed`: words that are no amount at all ("the one")."""

    end: int
    readings: tuple[Reading, ...] = ()
    upper: Decimal | None = None
    passed: bool = False


def share(w: Words, i: int, end: int, value: Decimal) -> Found | None:
    """ "half an hour", "three quarters of a litre"; of a thing, or of what is unsaid: a share."""
    tokens, lex = w.tokens, lexicon()
    j = end
    while j < len(tokens) and j - end < 4 and tokens[j] in _THE:
        found = lex.unit.at(tokens, j)
        if found and found[1].kind != "count":
            break
        j += 1
    measure = measured(w, i, j, value) if j < len(tokens) else None
    unit = unit_at(w, i, j, value) if measure else None
    if unit and measure and unit[1].kind != "count":
        return Found(measure[0], measure[1])
    if unit and unit[1].kind == "count" and unit[1].unit != "time":
        decimal_said = "/" in tokens[i] and j == end
        kinds = ("count", "share") if decimal_said else ("share",)
        return Found(unit[0], tuple(Reading(k, value, unit[1].unit) for k in kinds))
    if (of := _of_a_number(w, end, value)) is not None:
        return of
    if tokens[end : end + 1] == ["past"] or (
        tokens[end : end + 1] == ["to"] and tokens[end - 1] in lex.lists["quarter"]
    ):
        return Found(end + 1)  # "half past" of what hour?
    if "/" in tokens[i] and tokens[end : end + 1] not in ([word] for word in _SHARE_WORDS | {"of", "the"}):
        return None
    return Found(end, (Reading("share", value),))


_WHOLE = {"full", "whole", "entire", "solid"}
_LEAST_OF = 30  # below it a bare number may be an hour or a count
_OF = ({"of"}, {"the", "that", "those", "his", "her", "my", "our", "their", "a"})


def _of_a_number(w: Words, end: int, value: Decimal) -> Found | None:
    """ "Half of the 500", "a quarter of 380": that part of an amount said without a unit, or with mL."""
    tokens, j = w.tokens, end
    for words in _OF:
        j += j < len(tokens) and tokens[j] in words
    if j == end or j >= len(tokens):
        return None
    number = read_number(w, j)
    if number is None or len(number.values) != 1 or number.upper is not None or number.values[0] < _LEAST_OF:
        return None
    if per_time(w, number.end) or per_thing(w, number.end):
        return None
    unit = unit_at(w, j, number.end, number.values[0])
    if unit is None:
        return Found(number.end, (Reading("number", value * number.values[0]),))
    if unit[1].kind == "count" and unit[1].unit not in ("bag", "bottle", "container"):
        return None
    measure = measured(w, j, number.end, value * number.values[0])
    if unit[1].kind == "volume" and measure and measure[1]:
        return Found(measure[0], measure[1])
    return Found(number.end, (Reading("number", value * number.values[0]),)) if unit[1].kind == "count" else None


def one_of(w: Words, i: int) -> Found | None:
    """ "a litre", "an hour and a half", "a carton and a half", "hour and a quarter"."""
    lex, tokens = lexicon(), w.tokens
    article = tokens[i] in ("a", "an")
    j = i + article
    found = lex.unit.at(tokens, j)
    if found is None or (not article and tokens[i] not in lex.lists["one_hour"]):
        return None
    before = tokens[i - 1] if i else ""
    end, unit = found
    if tokens[i] in lex.lists["one_hour"] and before in _WHOLE and i > 1 and tokens[i - 2] in ("the", "a", "one"):
        return Found(end, (Reading("time", Decimal(1), "h"),))  # "the full hour"
    half = read_fraction(w, end + 1) if tokens[end : end + 1] == ["and"] else None
    if half and lex.unit.at(tokens, half[0]):
        half = None
    if unit.kind == "count":
        return Found(half[0], (Reading("count", 1 + half[1], unit.unit),)) if article and half else None
    if not article:
        return Found(half[0], (Reading("time", 1 + half[1], "h"),)) if half else None
    word = tokens[j]
    hour = word in lex.lists["one_hour"]
    timely = word in lex.lists["one_time"] and (
        before in lex.lists["one_time_after"] or tokens[end : end + 1] == ["ago"]
    )
    if not (half or hour or timely or word in lex.lists["one_of"]) or (
        before in lex.lists["one_hour_not_after"] and tokens[end : end + 1] != ["ago"]
    ):
        return None
    if unit.kind in ("mass", "volume", "ounce") and before in (
        "times",
        "per",
        "calories",
        "kcal",
        "cals",
        "drops",
        "cal",
    ):
        return None
    if half and unit.kind != "time":
        return Found(half[0], (Reading("volume" if unit.kind == "ounce" else unit.kind, 1 + half[1], unit.unit),))
    done = measured(w, i, j, Decimal(1))
    return Found(*done) if done else None


def of_a_size(w: Words, i: int) -> Found | None:
    """ "A fresh litre", "them litre bags": one of a measure that is said without its number."""
    lists, tokens = lexicon().lists, w.tokens
    if tokens[i] not in lists["sized"] or (i and tokens[i - 1] in lists["one_hour_not_after"]):
        return None
    led = i > 0 and tokens[i - 1] in lists["sized_after"]
    holds = tokens[i + 1 : i + 2] != [] and tokens[i + 1] in lists["sized_before"]
    if not led and not holds:
        return None
    done = measured(w, i, i, Decimal(1))
    return Found(*done) if done and done[1] else None


def _from_one(w: Words, i: int) -> bool:
    """Does another number or hour stand here, as in "one to half two"?"""
    word = w.tokens[i] if i < len(w.tokens) else ""
    return not word[:1].isalpha() or bool(kind(w, i)) or word in ("half", "quarter", "noon", "midnight", "about", "a")


def counts(w: Words, i: int, after_clock: bool) -> bool:
    """ "one" as a number, not as "the one": before a unit, after a word of time, or said alone."""
    tokens = w.tokens
    if tokens[i + 1 : i + 2] == ["to"] and not _from_one(w, i + 2):
        return False  # "ought one to start it"
    if len(tokens) <= 2 or unit_at(w, i, i + 1, Decimal(1)) or tokens[i + 1 : i + 2] in (["or"], ["to"], ["-"]):
        return True
    if per_time(w, i + 1) or per_thing(w, i + 1) or till_so_much_past(w, i + 1):
        return True
    weak = also_clock(w, i, i + 1, after_clock)
    if weak is None or not weak[0] or not (led_to_time(w, i, after_clock) or weak[1].unit == "24h"):
        return False
    if weak[1].unit == "24h" and not led_to_time(w, i, after_clock) and not lexicon().part.at(tokens, i + 1):
        return False
    following = tokens[i + 1] if i + 1 < len(tokens) else ""
    return tokens[i - 1] in _SURELY_TIME or not following[:1].isalpha() or following in _AFTER_TIME
