"""The unit after a number: which it is, and readings of the two together.

Longest first: "mL/h" is one unit. What is followed by "/" or "per" and not read whole is unread (UNREAD), never mended.
"""

from __future__ import annotations

from decimal import Decimal

from assistant.hear.lexicon import Unit, lexicon
from assistant.hear.measures import UNREAD, Found, drops, energy, feet, length_of_time, mass, volume
from assistant.hear.numbers import kind
from assistant.hear.per import loose_end
from assistant.hear.tokens import Words
from assistant.message import Reading

_PRONOUNS = {
    "i",
    "we",
    "you",
    "u",
    "he",
    "she",
    "it",
    "they",
    "the",
    "my",
    "this",
    "that",
    "someone",
    "anyone",
    "mum",
    "dad",
    "his",
    "her",
}
_ARTICLES = {
    "a",
    "an",
    "the",
    "my",
    "his",
    "her",
    "our",
    "your",
    "one",
    "another",
    "this",
    "that",
    "first",
    "last",
    "next",
    "each",
    "every",
}
_SET_WORDS = {"set", "sets", "giving", "per", "/", "ml", "factor", "kit", "tubing", "chamber", "line", "a", "to"}


def unit_at(w: Words, start: int, j: int, value: Decimal) -> tuple[int, Unit] | None:
    """(end, unit) after the number at [start, j), or None. Words that are more than a unit are looked at twice."""
    lex, tokens = lexicon(), w.tokens
    found = lex.unit.at(tokens, j)
    if found is None:
        return _counted(w, start, j, value)
    end, unit = found
    word, glued = tokens[j], w.glued(j)
    following = tokens[end] if end < len(tokens) else ""
    if unit.kind == "count":
        return _as_count(w, start, j, found, value)
    if (
        word in ("day", "night")
        and value > 1
        and (thing := _counted(w, start, j, value))
        and w.tokens[thing[0] - 1].endswith("s")
    ):
        return thing  # "3 day feeds"
    if (
        (word == "c" and end == j + 1 and not glued and not 30 <= value <= 45)
        or (word == "f" and end == j + 1 and not glued and not 90 <= value <= 112)
        or (word in ("m", "d", "mo", "p") and end == j + 1 and not glued)
        or (word in ("ph", "p") and value < 10)
    ):
        return None
    if unit.unit == "drop" and word == "drop" and value != 1 and following not in _SET_WORDS:
        return None
    if word == "second" and following and lex.unit.at(tokens, end) and lex.unit.at(tokens, end)[1].kind == "count":  # type: ignore[index]
        return None  # "gave 60, second flush"
    if unit.unit == "degF" and word == "f" and value <= 30:
        return end, Unit("french", "Fr")
    return found


def _counted(w: Words, start: int, j: int, value: Decimal) -> tuple[int, Unit] | None:
    """ "three new bags": up to two words between number and thing; "two whole days": one before a length of time."""
    lex = lexicon()
    if w.tokens[j : j + 1] and w.tokens[j] in _IN_FULL and w.tokens[j + 1 : j + 2]:
        lasts = lex.unit.at(w.tokens, j + 1)
        if lasts and lasts[1].kind == "time" and w.tokens[j + 1].endswith("s"):
            return lasts
    for _ in range(2):
        skip = lex.between.at(w.tokens, j)
        if skip is None:
            return None
        j = skip[0]
        found = lex.unit.at(w.tokens, j)
        if found and found[1].kind == "count" and found[1].unit != "time":
            return _as_count(w, start, j, found, value)
    return None


_IN_FULL = {"whole", "full", "solid", "entire", "straight", "clear"}
_SIZES = {"small", "big", "little", "large", "wee", "tiny", "same", "new", "old"}
_FEW = 3
_A_SIZE = 100  # mL: nobody counts so many bags


def _as_count(w: Words, start: int, j: int, found: tuple[int, Unit], value: Decimal) -> tuple[int, Unit] | None:
    """A thing counted; not the size of one ("a 300 feed"), nor a verb ("at 8 feed him", "78 can I")."""
    lists, tokens = lexicon().lists, w.tokens
    word, before = tokens[j], tokens[start - 1] if start else ""
    following = tokens[found[0]] if found[0] < len(tokens) else ""
    if found[1].unit == "time":
        if word == "x" and (following[:1].isdecimal() or kind(w, found[0])):
            return None
        if word == "times":  # "eighty times eight" multiplies
            return None if following[:1].isdecimal() or kind(w, found[0]) else found
        return found if value <= 30 else None
    singular = not word.endswith("s") or word == "bolus"
    if singular and value > 1:
        if word == "syringe" and (value > _FEW or before in _SIZES):
            return None  # "the small 10 syringe": its size
        if value > 20 or (before in _ARTICLES and value > 4) or before in lists["leads"] or before in lists["at"]:
            return None
        if word == "can" and following in _PRONOUNS:
            return None
    asked = tokens[max(0, start - 3) : start - 1] == ["many", "of"]  # "how many of the 250 cartons"
    of_a_size = asked and value >= _A_SIZE
    return None if of_a_size or (before == "many" and value >= 20) else found


def measured(w: Words, start: int, j: int, value: Decimal) -> Found | None:
    """(end, readings) of `value` with the unit at token `j`; UNREAD readings where it was not read whole."""
    found = unit_at(w, start, j, value)
    if found is None:
        return None
    end, unit = found
    value = value * unit.times
    if unit.kind == "volume" or unit.kind == "ounce":
        done = volume(w, start, end, value, unit)
    elif unit.kind == "time":
        done = length_of_time(w, end, value, unit.unit)
    elif unit.kind == "energy":
        done = energy(w, end, value, unit.unit)
    elif unit.kind == "drops":
        done = drops(w, end, value, unit.unit)
    elif unit.kind == "mass":
        done = mass(w, end, value, unit.unit)
    elif unit.kind == "metre":
        done = end, (Reading("time", value, "min"), Reading("volume", value, "mL"))
    elif unit.unit == "night":
        done = end, (Reading("count", value, "night"), Reading("time", value, "day"))
    elif unit.unit == "in" and unit.times == 12:
        done = feet(w, end, value)
    else:
        done = end, (Reading(unit.kind, value, unit.unit),)
    if unit.kind == "time" and w.tokens[done[0] : done[0] + 1] == ["per"]:
        return done
    return (done[0], UNREAD) if loose_end(w, done[0]) else done
