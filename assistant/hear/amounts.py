"""Numbers with their units: every fair reading of a stretch of words, or the stretch marked unread."""

from __future__ import annotations

from decimal import Decimal

from assistant.hear.clock_phrases import clock
from assistant.hear.lexicon import lexicon
from assistant.hear.measures import per_kilo
from assistant.hear.numbers import Number, kind, read_fraction, read_number
from assistant.hear.per import loose_end, per_thing, per_time
from assistant.hear.shares import Found, counts, one_of, share
from assistant.hear.time_or_number import also_clock, dotted_times
from assistant.hear.tokens import Words
from assistant.hear.units import measured
from assistant.message import Reading

#: said of an amount, never of an hour
_CERTAIN = {"left", "remaining", "hanging", "more", "each", "still", "poured", "given"}
_STILL_FIT = (["ok"], ["okay"], ["fine"], ["good"], ["safe"], ["usable"], ["alright"], ["all"], ["fresh"])
_SIGNS = {"*", "+", "=", "^", "x"}

MINUTES = frozenset(map(Decimal, (25, 30, 35, 40, 45, 50, 55, 60, 75, 90)))  # "over 60": no feed takes so many hours
_TENS = frozenset({"tens"})
SIZES_OF = ("are", "they're", "theyre", "of", "the", "those", "r")


def amount(w: Words, i: int, after_clock: bool) -> Found | None:
    """The amount that begins at token `i`, or None. `after_clock`: "from 8 pm to": a time is likely here."""
    fraction = None if lexicon().whole.at(w.tokens, i) else read_fraction(w, i)
    if fraction and (tail := share(w, i, *fraction)):
        return tail
    one = one_of(w, i)
    if one:
        return one
    number = read_number(w, i)
    if number is None:
        return None
    if not number.readable:
        return Found(_with_unit_end(w, number.end))
    joined = _glued_on(w, number.end)
    if joined:
        return Found(_with_unit_end(w, joined))
    if number.end == i + 1 and w.tokens[i] in ("one", "wun") and not counts(w, i, after_clock):
        return Found(i + 1, passed=True)
    found = _part_of_one(w, i, number) or _range(w, i, number) or _with_unit(w, i, number)
    return found or _bare(w, i, number, after_clock)


def _part_of_one(w: Words, i: int, number: Number) -> Found | None:
    """ "0.45 of a litre", "point three of a pint": so much of one."""
    end = number.end
    if w.tokens[end : end + 1] != ["of"] or w.tokens[end + 1 : end + 2] not in (["a"], ["an"], ["one"]):
        return None
    unit = lexicon().unit.at(w.tokens, end + 2)
    if unit is None or unit[1].kind not in ("volume", "ounce") or len(number.values) != 1 or number.values[0] >= 1:
        return None
    done = measured(w, i, end + 2, number.values[0])
    return Found(done[0], done[1]) if done else None


def _with_unit_end(w: Words, end: int) -> int:
    """Where an unread stretch ends: its unit goes with it."""
    found = lexicon().unit.at(w.tokens, end)
    return found[0] if found else end


def _glued_on(w: Words, end: int) -> int | None:
    """ "2x250", "1e5", "1.5k": where a number with something stuck to it that we cannot read ends, or None."""
    tokens = w.tokens
    if not w.glued(end) or not tokens[end - 1][-1].isdecimal():
        return None
    if tokens[end] in ("k", "e"):
        return end + 1 + (w.glued(end + 1) and tokens[end + 1][0].isdecimal())
    if w.glued(end + 1) and tokens[end + 1][0].isdecimal():
        unit = lexicon().unit.at(tokens, end)
        if tokens[end] in _SIGNS or (
            tokens[end].isalpha() and not (unit and unit[1].unit in ("h", "lb", "stone", "in", "min", "day"))
        ):
            return end + 2
    return None


def _range(w: Words, i: int, number: Number) -> Found | None:
    """ "eight or nine", "7-8 hours", "between 200 and 250": the first, with the second as `upper`; then we ask."""
    tokens, end = w.tokens, number.end
    if end + 1 >= len(tokens) or number.upper is not None or len(number.values) > 1:
        return None
    between, before = tokens[end], tokens[i - 1] if i else ""
    if not (
        between in ("or", "-") or (between == "to" and before != "from") or (between == "and" and before == "between")
    ):
        return None
    second = read_number(w, end + 1)
    if second is None or not second.readable or clock(w, end + 1):
        return None
    low, high = number.values[0], second.values[0]
    if (
        between == "-"
        and w.glued(end)
        and len(tokens[i]) == len(tokens[end + 1]) == 4
        and (high <= low or "0" in (tokens[i][0], tokens[end + 1][0]))
    ):
        return None  # "2100-0600": two times of day
    if between != "or" and high <= low:
        return Found(_with_unit_end(w, second.end)) if between == "-" and w.glued(end) else None
    if between == "and" and high <= 12:
        return None
    unit = measured(w, i, second.end, low)
    if unit and not unit[1]:
        return Found(unit[0])
    if unit:
        return Found(unit[0], unit[1], high)
    hourly = per_time(w, second.end)
    if hourly and hourly[1] == "h":
        return Found(hourly[0], (Reading("rate", low, "mL/h"),), high)
    if between in ("to", "-") and dotted_times(w, i, end + 1):
        return None
    return Found(second.end, (Reading("number", low),), high)


def _with_unit(w: Words, i: int, number: Number) -> Found | None:
    value = number.values[0]
    done = measured(w, i, number.end, value)
    if done is None:
        return None
    end, readings = done
    if not readings:
        return Found(end)
    first = readings[0]
    thing = lexicon().unit.at(w.tokens, end)
    sized = (
        first.kind == "volume"
        and thing is not None
        and thing[1].kind == "count"
        and w.tokens[thing[0] - 1].endswith("s")
    )
    if sized and (
        (number.style == "pair" and kind(w, i) == "teen") or (len(number.values) == 2 and w.tokens[i].isdecimal())
    ):
        return Found(i + 1, (Reading("number", _first(w, i)),))  # "eleven forty mil flushes"
    if sized and number.style == "pair" and kind(w, i) == "unit":  # "two fifty mil bottles"
        return Found(end, (*readings, Reading("volume", value % 100, first.unit)))
    if number.style == "pair" and number.upper is not None:
        if first.kind == "time" and value >= 200:  # "ten fifteen minutes"
            return Found(end, (Reading("time", _first(w, i), first.unit),), number.upper)
        if value < 2000 and first.kind in ("volume", "time") and value >= 500:
            return Found(end, (*readings, Reading(first.kind, _first(w, i), first.unit)))
        return Found(end, readings)
    others = tuple(r for other in number.values[1:] for r in (measured(w, i, number.end, other) or (0, ()))[1])
    return Found(end, readings + others, number.upper)


def _first(w: Words, i: int) -> Decimal:
    return Decimal(w.tokens[i]) if w.tokens[i].isdecimal() else Decimal(lexicon().number[w.tokens[i]][1])


def _bare_per(w: Words, end: int, number: Number, upper: Decimal | None) -> Found | None:
    """A number without a unit that is per something: mL is left unsaid in "78 an hour"."""
    value = number.values[0]
    per = per_time(w, end)
    if per and per[1] != "d":
        kinds = {
            "h": (("rate", "mL/h"),),
            "min": (("drops", "drop/min"), ("rate", "mL/min")),
            "s": (("drops", "drop/s"),),
        }[per[1]]
        return Found(per[0], tuple(Reading(k, v, unit) for v in number.values for k, unit in kinds), upper)
    thing = per_thing(w, end) if w.tokens[end : end + 1] in (["/"], ["per"], ["to"]) else None
    if thing and thing[1] == "ml" and thing[2] == 1:
        drops = Reading("drop_factor", value, "drop/mL")
        return Found(thing[0], (drops if value >= 5 else Reading("density", value, "kcal/mL"),))
    kilo = per_kilo(w, end, value, "")
    if kilo:
        return Found(*kilo)
    if loose_end(w, end):
        return Found(_with_unit_end(w, end + 1))
    if w.tokens[end : end + 1] == ["past"] and value in (5, 10, 20, 25):  # "ten past" of what hour?
        return Found(end + 1)
    return None


def _bare(w: Words, i: int, number: Number, after_clock: bool) -> Found:
    """A number without a unit, and what else it may be by the words beside it."""
    tokens, end, values = w.tokens, number.end, number.values
    value = values[0]
    upper = None if number.style == "pair" else number.upper
    if tokens[end : end + 1] == ["and"] and tokens[end + 1 : end + 2] and tokens[end + 1] in _TENS | lexicon().plural:
        return Found(end + 2)  # "the hundred and tens": not read whole
    per = _bare_per(w, end, number, upper)
    if per:
        return per
    special = _by_neighbours(w, i, end, value)
    if special:
        return Found(end, (special,))
    if w.glued(end) and tokens[end] == "s" and tokens[i][0].isdecimal():
        times = (Reading("time", value, "s"),) if value < 100 else ()
        return Found(end + 1, (*times, Reading("number", value)))
    readings = tuple(Reading("number", v) for v in values)
    if tokens[end - 1] in lexicon().plural and number.style == "pair":
        sizes = i > 0 and tokens[i - 1] in SIZES_OF  # "they are two fifties"; "she takes four nineties" is asked about
        return Found(end, (*readings, Reading("number", value % 100))) if sizes else Found(end)
    weak = also_clock(w, i, end, after_clock) if len(values) == 1 or number.style == "pair" else None
    if weak and weak[1].unit == "12h" and _surely_an_amount(tokens[end : end + 2]):
        weak = None
    if weak:
        readings = (weak[1], *readings) if weak[0] else (*readings, weak[1])
        if tokens[i][0] == "0" and len(tokens[i]) == 4:
            readings = (weak[1],)
    return Found(end, readings, upper)


def _surely_an_amount(after: list[str]) -> bool:
    """ "at 60 still to go" is an amount; "opened at 2, still ok" is a time of day."""
    return after[:1] != [] and after[0] in _CERTAIN and after[1:2] not in _STILL_FIT


def _by_neighbours(w: Words, i: int, end: int, value: Decimal) -> Reading | None:
    """ "temp 39.2", "drop factor of 20", "15 factor"."""
    tokens, lists = w.tokens, lexicon().lists
    before = tokens[max(0, i - 3) : i]
    if any(word in lists["temperature_near"] for word in before) and (34 <= value <= 43 or 93 <= value <= 110):
        return Reading("temperature", value, "deg")
    if i and tokens[i - 1] == "x" and w.glued(i) and not (i > 1 and tokens[i - 2][0].isdecimal()):
        return Reading("count", value, "time")  # "stools x4"
    told = any(word[0].isdecimal() for word in tokens[max(0, i - 8) : i - 1] if word)
    if before[-1:] == ["over"] and told and value in MINUTES and "pressure" not in tokens and "bp" not in tokens:
        return Reading("time", value, "min")  # "300 by gravity over 60"
    if "factor" in before[-2:] or tokens[end : end + 1] == ["factor"]:
        return Reading("drop_factor", value, "drop/mL")
    return None
