"""The unit after a number, with what it is "per": readings of the two together.

Longest first: "mL/h" is one unit. What is followed by "/" or "per" and not read whole is unread (UNREAD), never mended.
"""

from __future__ import annotations

from decimal import Decimal

from assistant.hear.lexicon import Unit, lexicon
from assistant.hear.numbers import kind, read_fraction, read_number
from assistant.hear.tokens import Words
from assistant.message import Reading

Found = tuple[int, tuple[Reading, ...]]
UNREAD: tuple[Reading, ...] = ()

#: (unit of volume, per) -> unit of rate, and what the amount is multiplied by (exact US customary factors, NIST SP 811)
RATES = {
    ("mL", "h"): ("mL/h", "1"), ("mL", "min"): ("mL/min", "1"), ("mL", "d"): ("mL/d", "1"), ("mL", "s"): ("mL/min", "60"),
    ("L", "h"): ("L/h", "1"), ("L", "min"): ("mL/min", "1000"), ("L", "d"): ("mL/d", "1000"),
    ("floz_us", "h"): ("floz_us/h", "1"), ("floz_us", "min"): ("floz_us/h", "60"),
    ("floz_us", "d"): ("mL/d", "29.5735295625"),
    ("tsp", "h"): ("mL/h", "4.92892159375"), ("tbsp", "h"): ("mL/h", "14.78676478125"), ("cup", "h"): ("mL/h", "236.5882365"), ("cup", "d"): ("mL/d", "236.5882365"),
}
_DROPS = {"min": "drop/min", "s": "drop/s"}
_PRONOUNS = {"i", "we", "you", "u", "he", "she", "it", "they", "the", "my", "this", "that", "someone", "anyone", "mum", "dad", "his", "her"}
_ARTICLES = {"a", "an", "the", "my", "his", "her", "our", "your", "one", "another", "this", "that", "first", "last", "next", "each", "every"}
_NOT_RATE = {"ago", "later", "late", "early", "earlier", "before", "after", "into", "behind", "longer", "sooner"}
_LETTERS = {"m", "s", "d", "h", "p"}
_SET_WORDS = {"set", "sets", "giving", "per", "/", "ml", "factor", "kit", "tubing", "chamber", "line", "a", "to"}
_OUNCES_A_POUND = 16


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
    if tokens[j] not in ("/", "per") and found[0] < len(tokens) and (tokens[found[0]] in _NOT_RATE or tokens[found[0]:found[0] + 2] == ["from", "now"]):
        return None
    word = tokens[per[0]]
    if word in _LETTERS and tokens[j] not in ("/", "per", "p"):
        return None
    if tokens[j] in ("and", "en") and (found[1] != "h" or tokens[found[0]:found[0] + 1] == ["and"]):
        return None
    return found


def per_thing(w: Words, j: int) -> tuple[int, str, Decimal] | None:
    """(end, "ml" | "oz" | "l" | "other", how many) of "/ml", "per 100 ml", "to the ounce", or None."""
    lex, tokens = lexicon(), w.tokens
    if tokens[j:j + 2] in (["to", "the"], ["to", "a"]):
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
    if tokens[end] == "/" and not w.glued(end) and not w.glued(end + 1):     # " / " only parts two amounts
        return False
    if end + 1 >= len(tokens):
        return tokens[end] == "/"
    if tokens[end] == "/" and tokens[end + 1].isdigit() and tokens[end - 1].isdigit():      # "85/765": two numbers
        return False
    unit = lex.unit.at(tokens, end + 1)
    if unit and (unit[1].kind == "count" or unit[1].unit == "day"):
        return False
    return tokens[end] == "/" or lex.per_thing.at(tokens, end + 1) is not None or unit is not None


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
    if word in ("day", "night") and value > 1 and (thing := _counted(w, start, j, value)) and w.tokens[thing[0] - 1].endswith("s"):
        return thing                                                  # "3 day feeds"
    if word == "c" and end == j + 1 and not glued and not 30 <= value <= 45 \
            or word == "f" and end == j + 1 and not glued and not 90 <= value <= 112 \
            or word in ("m", "d", "mo", "p") and end == j + 1 and not glued \
            or word in ("ph", "p") and value < 10:
        return None
    if unit.unit == "drop" and word == "drop" and value != 1 and following not in _SET_WORDS:
        return None
    if word == "second" and following and lex.unit.at(tokens, end) and lex.unit.at(tokens, end)[1].kind == "count":  # type: ignore[index]
        return None                                                   # "gave 60, second flush"
    if unit.unit == "degF" and word == "f" and value <= 30:
        return end, Unit("french", "Fr")
    return found


def _counted(w: Words, start: int, j: int, value: Decimal) -> tuple[int, Unit] | None:
    """"three new bags": up to two words between number and thing."""
    lex = lexicon()
    for _ in range(2):
        skip = lex.between.at(w.tokens, j)
        if skip is None:
            return None
        j = skip[0]
        found = lex.unit.at(w.tokens, j)
        if found and found[1].kind == "count" and found[1].unit != "time":
            return _as_count(w, start, j, found, value)
    return None


def _as_count(w: Words, start: int, j: int, found: tuple[int, Unit], value: Decimal) -> tuple[int, Unit] | None:
    """A thing counted; not the size of one ("a 300 feed"), nor a verb ("at 8 feed him", "78 can I")."""
    lists, tokens = lexicon().lists, w.tokens
    word, before = tokens[j], tokens[start - 1] if start else ""
    following = tokens[found[0]] if found[0] < len(tokens) else ""
    if found[1].unit == "time":
        if word == "x" and (following[:1].isdigit() or kind(w, found[0])):
            return None
        if word == "times":                                           # "eighty times eight" multiplies
            return None if following[:1].isdigit() or kind(w, found[0]) else found
        return found if value <= 30 else None
    singular = not word.endswith("s") or word == "bolus"
    if singular and value > 1:
        if value > 20 or before in _ARTICLES and value > 4 or before in lists["leads"] or before in lists["at"]:
            return None
        if word == "can" and following in _PRONOUNS:
            return None
    return None if before == "many" and value >= 20 else found


def measured(w: Words, start: int, j: int, value: Decimal) -> Found | None:
    """(end, readings) of `value` with the unit at token `j`; UNREAD readings where it was not read whole."""
    found = unit_at(w, start, j, value)
    if found is None:
        return None
    end, unit = found
    value = value * unit.times
    if unit.kind == "volume" or unit.kind == "ounce":
        done = _volume(w, start, end, value, unit)
    elif unit.kind == "time":
        done = _length_of_time(w, end, value, unit.unit)
    elif unit.kind == "energy":
        done = _energy(w, end, value, unit.unit)
    elif unit.kind == "drops":
        done = _drops(w, end, value, unit.unit)
    elif unit.kind == "mass":
        done = _mass(w, end, value, unit.unit)
    elif unit.kind == "metre":
        done = end, (Reading("time", value, "min"), Reading("volume", value, "mL"))
    elif unit.unit == "night":
        done = end, (Reading("count", value, "night"), Reading("time", value, "day"))
    elif unit.unit == "in" and unit.times == 12:
        done = _feet(w, end, value)
    else:
        done = end, (Reading(unit.kind, value, unit.unit),)
    if unit.kind == "time" and w.tokens[done[0]:done[0] + 1] == ["per"]:
        return done
    return (done[0], UNREAD) if loose_end(w, done[0]) else done


def per_kilo(w: Words, end: int, value: Decimal, unit: str) -> Found | None:
    """"120 mL per kg", "100 kcal/kg/day", "150 per kilo": kind per_kg, a day's unless said otherwise (then unread)."""
    thing = per_thing(w, end)
    if thing is None or thing[1] != "kg" or thing[2] != 1:
        return None
    per = per_time(w, thing[0])
    if per and per[1] != "d":
        return per[0], UNREAD
    units = (unit,) if unit else ("mL", "kcal")
    return (per[0] if per else thing[0]), tuple(Reading("per_kg", value, f"{each}/kg/day") for each in units)


def _volume(w: Words, start: int, end: int, value: Decimal, unit: Unit) -> Found:
    per = per_time(w, end)
    if per:
        rate = RATES.get((unit.unit, per[1]))
        return (per[0], (Reading("rate", value * Decimal(rate[1]), rate[0]),)) if rate else (per[0], UNREAD)
    kilo = per_kilo(w, end, value, unit.unit) if unit.unit == "mL" else None
    if kilo:
        return kilo
    thing = per_thing(w, end)
    if thing and not (thing[1] == "other" and w.tokens[thing[0] - 1] in ("week", "wk", "month")):
        return thing[0], UNREAD
    readings = [Reading("volume", value, unit.unit)]
    if unit.kind == "ounce":
        near = w.tokens[max(0, start - 4):start] + w.tokens[end:end + 4]
        if any(word in lexicon().lists["weight_near"] for word in near):
            readings.append(Reading("mass", value, "oz"))
    return end, tuple(readings)


def _length_of_time(w: Words, end: int, value: Decimal, unit: str) -> Found:
    """"2 hours and a half", "1 h 15", "an hour and ten minutes", "2 days 4 hours"."""
    if w.tokens[end:end + 1] == ["old"]:
        return end + 1, (Reading("age", value, unit),)
    smaller = {"h": ("min", 60), "min": ("s", 60), "day": ("h", 24), "week": ("day", 7)}.get(unit)
    joined = end < len(w.tokens) and w.tokens[end] in lexicon().lists["joined_by"] and w.tokens[end] != "an"
    after = end + joined
    if joined:
        part = read_fraction(w, after)
        if part and not lexicon().unit.at(w.tokens, part[0]):
            return part[0], (Reading("time", value + part[1], unit),)
    if smaller is None or after >= len(w.tokens):
        return end, (Reading("time", value, unit),)
    more = read_number(w, after)
    if more is None or len(more.values) != 1 or more.upper is not None or more.values[0] >= smaller[1]:
        return end, (Reading("time", value, unit),)
    named = lexicon().unit.at(w.tokens, more.end)
    if named and named[1].kind in ("time", "metre") and named[1].unit == smaller[0]:
        return named[0], (Reading("time", value * smaller[1] + more.values[0], smaller[0]),)
    following = w.tokens[more.end:more.end + 1]
    bare = unit == "h" and not joined and not named and more.values[0] % 5 == 0 and more.style == "small" \
        and not (following and (following[0] in lexicon().lists["left_after"] or following[0] in ("/", "per", "an", "a", "%", "x", "and", ":")))
    if bare:
        return more.end, (Reading("time", value * 60 + more.values[0], "min"),)
    return end, (Reading("time", value, unit),)


def _energy(w: Words, end: int, value: Decimal, unit: str) -> Found:
    per = per_time(w, end)
    thing = None if per else per_thing(w, end)
    kilo = per_kilo(w, end, value, unit) if unit == "kcal" else None
    if kilo:
        return kilo
    if thing:
        into = {"ml": ("kcal/mL", 1), "l": ("kcal/mL", 1000), "oz": ("kcal/floz_us", 1)}.get(thing[1])
        if into is None or unit != "kcal":
            return thing[0], UNREAD
        return thing[0], (Reading("density", value / (thing[2] * into[1]), into[0]),)
    if per and per[1] != "d":
        return per[0], UNREAD
    if unit == "kcal" and Decimal("0.4") <= value <= Decimal("2.5"):   # "the 1.5 cal": a strength, as the trade says it
        return end, (Reading("density", value, "kcal/mL"), Reading("energy", value, unit))
    return end, (Reading("energy", value, unit),)


def _drops(w: Words, end: int, value: Decimal, unit: str) -> Found:
    per = per_time(w, end) if unit == "drop" else None
    if per:
        return (per[0], (Reading("drops", value, _DROPS[per[1]]),)) if per[1] in _DROPS else (per[0], UNREAD)
    thing = per_thing(w, end) if unit == "drop" else None
    if thing:
        whole = thing[1] == "ml" and thing[2] == 1
        return thing[0], (Reading("drop_factor", value, "drop/mL"),) if whole else UNREAD
    return end, (Reading("drops", value, unit),)


def _mass(w: Words, end: int, value: Decimal, unit: str) -> Found:
    """"6 lb 4 oz", "9 stone 4": one weight."""
    per = per_time(w, end)
    thing = None if per else per_thing(w, end)
    kilo = per_kilo(w, end, value, unit) if unit == "g" else None
    if kilo:
        return kilo
    into = {("g", "l"): ("g/L", 1), ("g", "ml"): ("g/L", 1000), ("mg", "ml"): ("mg/mL", 1)}.get((unit, thing[1])) if thing else None
    if thing and into:
        return thing[0], (Reading("concentration", value * into[1] / thing[2], into[0]),)
    if per and per[1] != "d" or thing and w.tokens[thing[0] - 1] not in ("week", "wk", "month"):
        return (per or thing)[0], UNREAD                              # type: ignore[index]
    parts = {"lb": ("oz", _OUNCES_A_POUND, "oz"), "stone": ("lb", 14, "lb")}.get(unit)
    after = end + (w.tokens[end:end + 1] == ["and"])
    more = read_number(w, after) if parts and after < len(w.tokens) else None
    if parts and more and len(more.values) == 1 and more.values[0] < parts[1]:
        named = lexicon().unit.at(w.tokens, more.end)
        if named and named[1].unit in (parts[0], "floz_us") and (named[1].kind in ("mass", "ounce")):
            return named[0], (Reading("mass", value * parts[1] + more.values[0], parts[2]),)
        if unit == "stone" and not named and after == end:
            return more.end, (Reading("mass", value * parts[1] + more.values[0], parts[2]),)
    return end, (Reading("mass", value, unit),)


def _feet(w: Words, end: int, inches: Decimal) -> Found:
    more = read_number(w, end) if end < len(w.tokens) else None
    if more and len(more.values) == 1 and more.values[0] < 12:
        named = lexicon().unit.at(w.tokens, more.end)
        if named is None or named[1].unit == "in":
            return (named[0] if named else more.end), (Reading("length", inches + more.values[0], "in"),)
    return end, (Reading("length", inches, "in"),)
