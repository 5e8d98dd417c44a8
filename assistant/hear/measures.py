"""A number with its unit and what that is per: volumes and rates, lengths of time, energy, drops, weights, heights."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from assistant.hear.lexicon import Unit, lexicon
from assistant.hear.numbers import read_fraction, read_number
from assistant.hear.per import per_thing, per_time
from assistant.hear.tokens import Words
from assistant.message import Reading

Found = tuple[int, tuple[Reading, ...]]
UNREAD: tuple[Reading, ...] = ()

#: (unit of volume, per) -> unit of rate, and what the amount is multiplied by (exact US customary factors, NIST SP 811)
RATES = {
    ("mL", "h"): ("mL/h", "1"),
    ("mL", "min"): ("mL/min", "1"),
    ("mL", "d"): ("mL/d", "1"),
    ("mL", "s"): ("mL/min", "60"),
    ("L", "h"): ("L/h", "1"),
    ("L", "min"): ("mL/min", "1000"),
    ("L", "d"): ("mL/d", "1000"),
    ("floz_us", "h"): ("floz_us/h", "1"),
    ("floz_us", "min"): ("floz_us/h", "60"),
    ("floz_us", "d"): ("mL/d", "29.5735295625"),
    ("tsp", "h"): ("mL/h", "4.92892159375"),
    ("tbsp", "h"): ("mL/h", "14.78676478125"),
    ("cup", "h"): ("mL/h", "236.5882365"),
    ("cup", "d"): ("mL/d", "236.5882365"),
}
_DROPS = {"min": "drop/min", "s": "drop/s"}
_OUNCES_A_POUND = 16
_GRAMS = (100, 1000)  # what may follow whole kilos as grams


def per_kilo(w: Words, end: int, value: Decimal, unit: str) -> Found | None:
    """ "120 mL per kg", "100 kcal/kg/day", "150 per kilo": kind per_kg, a day's unless said otherwise (then unread)."""
    thing = per_thing(w, end)
    if thing is None or thing[1] != "kg" or thing[2] != 1:
        return None
    per = per_time(w, thing[0])
    if per and per[1] != "d":
        return per[0], UNREAD
    units = (unit,) if unit else ("mL", "kcal")
    return (per[0] if per else thing[0]), tuple(Reading("per_kg", value, f"{each}/kg/day") for each in units)


_AFTER_A_HALF = frozenset({"left", "at", "in", "on", "to", "remaining", "still", "hanging", "running", "with", "total",
                           "altogether", "velocity", "speed", "rate"})


def _and_a_half(w: Words, end: int, unit: Unit) -> tuple[int, Decimal] | None:
    """ "2 litres and a half", "2 dL and half": of the same unit, where nothing after it is halved instead."""
    if w.tokens[end : end + 1] != ["and"] or (unit.unit == "mL" and unit.times == 1):
        return None
    part = read_fraction(w, end + 1) if end + 1 < len(w.tokens) else None
    if part is None or part[1] >= 1:
        return None
    following = w.tokens[part[0] : part[0] + 1]
    return (part[0], part[1] * unit.times) if _ends_there(following) or following[0] in _AFTER_A_HALF else None


def volume(w: Words, start: int, end: int, value: Decimal, unit: Unit) -> Found:
    if (more := _and_a_half(w, end, unit)) is not None:
        end, value = more[0], value + more[1]
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
        near = w.tokens[max(0, start - 4) : start] + w.tokens[end : end + 4]
        if any(word in lexicon().lists["weight_near"] for word in near):
            readings.append(Reading("mass", value, "oz"))
    return end, tuple(readings)


def length_of_time(w: Words, end: int, value: Decimal, unit: str) -> Found:
    """ "2 hours and a half", "1 h 15", "an hour and ten minutes", "2 days 4 hours"."""
    if w.tokens[end : end + 1] == ["old"]:
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
    following = w.tokens[more.end : more.end + 1]
    if following == ["in"] and w.tokens[more.end + 1 : more.end + 2] in ([], ["at"], [","], ["."], ["?"]):
        following = []  # "4 hours 20 in at 110": so long it has run
    bare = (
        unit == "h"
        and (not joined or _ends_there(following) or _lost(w.tokens[more.end : more.end + 2]))
        and not named
        and more.values[0] % 5 == 0
        and more.style == "small"
        and not (
            following
            and (
                following[0] in lexicon().lists["left_after"]
                or following[0] in ("/", "per", "an", "a", "%", "x", "and", ":")
            )
        )
    )
    if bare:
        return more.end, (Reading("time", value * 60 + more.values[0], "min"),)
    return end, (Reading("time", value, unit),)


_ENDS = frozenset({".", ",", "?", "!", ";", ")", "-", "and", "but", "so", "then", "how", "what", "when", "which",
                   "before", "because", "cos", "till", "until", "ago", "late", "behind", "straight", "solid", "where",
                   "that", "while", "whilst", "since", "tonight", "today", "this", "last", "total", "altogether"})


def _ends_there(following: list[str]) -> bool:
    """ "Clamped for an hour and forty": minutes, where nothing after it says what else the second number is of."""
    return not following or following[0] in _ENDS


def _lost(following: Sequence[str]) -> bool:
    """ "An hour and twenty gone"; in "... and twenty gone in" the twenty went in."""
    return bool(following) and following[0] in ("gone", "lost", "missed", "wasted") and (
        following[1:2] not in (["in"], ["into"], ["of"], ["to"], ["through"], ["already"]))


def energy(w: Words, end: int, value: Decimal, unit: str) -> Found:
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
    if unit == "kcal" and Decimal("0.4") <= value <= Decimal("2.5"):  # "the 1.5 cal": a strength, as the trade says it
        return end, (Reading("density", value, "kcal/mL"), Reading("energy", value, unit))
    return end, (Reading("energy", value, unit),)


def drops(w: Words, end: int, value: Decimal, unit: str) -> Found:
    per = per_time(w, end) if unit == "drop" else None
    if per:
        return (per[0], (Reading("drops", value, _DROPS[per[1]]),)) if per[1] in _DROPS else (per[0], UNREAD)
    thing = per_thing(w, end) if unit == "drop" else None
    if thing:
        whole = thing[1] == "ml" and thing[2] == 1
        return thing[0], (Reading("drop_factor", value, "drop/mL"),) if whole else UNREAD
    return end, (Reading("drops", value, unit),)


def mass(w: Words, end: int, value: Decimal, unit: str) -> Found:
    """ "6 lb 4 oz", "9 stone 4", "6 kilo 400": one weight."""
    per = per_time(w, end)
    thing = None if per else per_thing(w, end)
    kilo = per_kilo(w, end, value, unit) if unit == "g" else None
    if kilo:
        return kilo
    into = (
        {("g", "l"): ("g/L", 1), ("g", "ml"): ("g/L", 1000), ("mg", "ml"): ("mg/mL", 1)}.get((unit, thing[1]))
        if thing
        else None
    )
    if thing and into:
        return thing[0], (Reading("concentration", value * into[1] / thing[2], into[0]),)
    if (per and per[1] != "d") or (thing and w.tokens[thing[0] - 1] not in ("week", "wk", "month")):
        return (per or thing)[0], UNREAD  # type: ignore[index]
    parts = {"lb": ("oz", _OUNCES_A_POUND, "oz"), "stone": ("lb", 14, "lb")}.get(unit)
    after = end + (w.tokens[end : end + 1] == ["and"])
    more = read_number(w, after) if (parts or unit == "kg") and after < len(w.tokens) else None
    if unit == "kg" and more and len(more.values) == 1 and _GRAMS[0] <= more.values[0] < _GRAMS[1] and value % 1 == 0:
        named = lexicon().unit.at(w.tokens, more.end)
        grams = named is not None and (named[1].kind, named[1].unit) == ("mass", "g")
        if grams or (named is None and after == end):
            return named[0] if named else more.end, (Reading("mass", value + more.values[0] / 1000, "kg"),)
    if parts and more and len(more.values) == 1 and more.values[0] < parts[1]:
        named = lexicon().unit.at(w.tokens, more.end)
        if named and named[1].unit in (parts[0], "floz_us") and (named[1].kind in ("mass", "ounce")):
            return named[0], (Reading("mass", value * parts[1] + more.values[0], parts[2]),)
        if unit == "stone" and not named and after == end:
            return more.end, (Reading("mass", value * parts[1] + more.values[0], parts[2]),)
    return end, (Reading("mass", value, unit),)


def feet(w: Words, end: int, inches: Decimal) -> Found:
    more = read_number(w, end) if end < len(w.tokens) else None
    if more and len(more.values) == 1 and more.values[0] < 12:
        named = lexicon().unit.at(w.tokens, more.end)
        if named is None or named[1].unit == "in":
            return (named[0] if named else more.end), (Reading("length", inches + more.values[0], "in"),)
    return end, (Reading("length", inches, "in"),)
