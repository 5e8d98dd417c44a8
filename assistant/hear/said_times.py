"""Clock times as people say them: "9pm", "21:15", "half seven", "twenty to ten", "0600", "nine fifteen".

A plain time of day gives clock readings only. A number that may also be a time ("at 9", "9.15", "2115") is read as a
number first (amounts.py), and `also_clock` says which clock time it may be.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NamedTuple

from assistant.hear.lexicon import lexicon
from assistant.hear.numbers import kind, read_fraction, worth
from assistant.hear.tokens import Words
from assistant.message import Reading

_COLON = re.compile(r"(\d{1,2}):([0-5]\d)")
_DOT = re.compile(r"(\d{1,2})\.([0-5]\d)")
_FOUR = re.compile(r"([01]\d|2[0-3])([0-5]\d)")
_THREE = re.compile(r"(\d)([0-5]\d)")
NOON, DAY = 720, 1440


class Said(NamedTuple):
    """Hour and minute read from token `i` on: minutes after midnight, and whether the half of the day is plain."""

    end: int
    minutes: int
    plain: bool
    style: str              # colon dot hour four three pair


class Clock(NamedTuple):
    end: int
    readings: tuple[Reading, ...]
    upper: int | None = None


def hour_minute(w: Words, i: int) -> Said | None:
    """The longest hour and minute at token `i`."""
    token = w.tokens[i]
    if token[0].isdigit():
        return _in_digits(token, i)
    if kind(w, i) in ("unit", "teen", "ten", "zero"):
        return _in_words(w, i)
    return None


def _in_digits(token: str, i: int) -> Said | None:
    for pattern, style in ((_COLON, "colon"), (_DOT, "dot"), (_FOUR, "four"), (_THREE, "three")):
        match = pattern.fullmatch(token)
        if match:
            hour, minute = int(match[1]), int(match[2])
            if hour == 24 and minute == 0:
                return Said(i + 1, 0, True, style)
            if hour > 23 or (style in ("dot", "three") and hour == 0):
                return None
            plain = hour > 12 or hour == 0 or (style in ("four", "colon") and token[0] == "0")
            return Said(i + 1, hour * 60 + minute, plain, style)
    if token.isdigit() and len(token) <= 2 and int(token) <= 24:
        return Said(i + 1, int(token) % 24 * 60, int(token) > 12 or int(token) == 0 or token[0] == "0", "hour")
    return None


def _in_words(w: Words, i: int) -> Said | None:
    led = kind(w, i) == "zero"                                # "oh six hundred", "zero seven thirty"
    at = i + 1 if led else i
    if kind(w, at) == "unit" or kind(w, at) == "teen" and not led:
        hour, end = worth(w, at), at + 1
    elif w.tokens[at:at + 1] == ["twenty"] and not led:
        hour, end = 20, at + 1
        if kind(w, end) == "unit" and worth(w, end) <= 3:
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
        return Reading("clock", minutes % NOON + NOON * (minutes % NOON < 60), "12h")      # 12:40, not 0:40
    first_half = minutes % NOON
    late = half in ("pm", "afternoon", "evening") or (half == "night" and first_half >= 300)
    return Reading("clock", first_half + NOON * late, "24h")


def part_of_day(w: Words, start: int, end: int) -> tuple[int, str]:
    """(index after it, part) of the part of the day said beside a time at [start, end).

    "in the morning" belongs to the time and is taken in; "tonight" and "this morning" are a day too and stay outside.
    """
    lex, tokens = lexicon(), w.tokens
    j = end
    if tokens[j:j + 1] == ["on"]:
        j += 1
    day = lex.day.at(tokens, j)
    direct = lex.part.at(tokens, j)
    after = direct or (lex.part.at(tokens, day[0]) if day else None)
    if after:
        inside = direct is not None and tokens[end] in ("in", "at", "of")
        return (after[0] if inside else end), after[1]
    j = start
    while j > 0 and (tokens[j - 1] in lex.lists["leads"] or tokens[j - 1] in lex.lists["at"] or tokens[j - 1] in lex.lists["about"]):
        j -= 1
    for k in range(max(0, j - 4), j):
        before = lex.part.at(tokens, k)
        if before and before[0] == j:
            return end, before[1]
    return end, ""


def clock(w: Words, i: int) -> Clock | None:
    """A plain time of day at token `i`, or None."""
    lex = lexicon()
    noon = lex.noon.at(w.tokens, i)
    if noon:
        return Clock(noon[0], (Reading("clock", noon[1], "24h"),))
    return _past_or_to(w, i) or _half_hour(w, i) or _with_suffix(w, i)


def _with_suffix(w: Words, i: int) -> Clock | None:
    said = hour_minute(w, i)
    if said is None:
        return None
    tokens, end = w.tokens, said.end
    spaced = _seven_thirty_pm(w, said)
    if spaced:
        said, end = spaced, spaced.end
    suffix = lexicon().suffix.at(tokens, end)
    if suffix is None and end < len(tokens) and tokens[end] in ("a", "p") and w.glued(end):
        suffix = end + 1, tokens[end] + "m"
    if suffix:
        after, half = suffix
        if half == "o'clock":
            after, half = part_of_day(w, i, after)
            more = lexicon().suffix.at(tokens, after)
            if more and more[1] != "o'clock":
                after, half = more
        else:
            after, _ = part_of_day(w, i, after)
        return Clock(after, (on_clock(said.minutes, half, said.plain),)) if said.minutes else \
            Clock(after, (Reading("clock", 0, "24h"),))
    if said.style in ("four", "pair", "colon") and tokens[end:end + 1] and tokens[end] in ("hours", "hrs", "h", "hr"):
        if said.style == "four" or (said.plain and not (said.style == "colon" and said.minutes < 60)):
            return Clock(end + 1, (Reading("clock", said.minutes, "24h"),))
        if said.style != "colon":
            return None
        length = Reading("time", Decimal(said.minutes), "min")        # "1:30 hours"
        time = on_clock(said.minutes, "", said.plain)
        return Clock(end + 1, (length,) if said.minutes < 60 else (length, time) if said.minutes < 300 else (time, length))
    after, half = part_of_day(w, i, end)
    if said.style == "colon" or after > end or (half and said.minutes and _led(w, i, False)):
        return Clock(after, (on_clock(said.minutes, half, said.plain),))
    return None


def _seven_thirty_pm(w: Words, said: Said) -> Said | None:
    """"7 30 pm": minutes as a token of their own, only before am or pm."""
    end = said.end
    if said.style != "hour" or end >= len(w.tokens) or not re.fullmatch(r"[0-5]\d", w.tokens[end]):
        return None
    suffix = lexicon().suffix.at(w.tokens, end + 1)
    return Said(end + 1, said.minutes + int(w.tokens[end]), said.plain, "colon") if suffix else None


def _hour(w: Words, i: int) -> tuple[int, int, str] | None:
    """(end, minutes, half) of a lone hour 1 to 12, noon or midnight, not the start of an amount."""
    lex = lexicon()
    if i >= len(w.tokens):
        return None
    noon = lex.noon.at(w.tokens, i)
    if noon:
        return noon[0], noon[1], "noon"
    if w.tokens[i].isdigit() and len(w.tokens[i]) <= 2:
        hour = int(w.tokens[i])
    else:
        hour = worth(w, i) if kind(w, i) in ("unit", "teen") else 0
    end = i + 1
    if not 1 <= hour <= 12 or kind(w, end) in ("hundred", "thousand") or w.tokens[end:end + 1] == ["point"]:
        return None
    if lex.unit.at(w.tokens, end) and not lex.suffix.at(w.tokens, end):
        return None
    per = lex.per.at(w.tokens, end)
    return None if per and lex.per_time.at(w.tokens, per[0]) else (end, hour * 60, "")


def _finish(w: Words, start: int, end: int, minutes: int, half: str) -> tuple[int, Reading]:
    """The half of the day said after a time such as "ten to six"."""
    if half == "noon":
        return end, Reading("clock", minutes % DAY, "24h")
    suffix = lexicon().suffix.at(w.tokens, end)
    if suffix:
        end, half = suffix
        if half == "o'clock":
            end, half = part_of_day(w, start, end)
    else:
        end, half = part_of_day(w, start, end)
    return end, on_clock(minutes % NOON or NOON, half)


def _before_hour(w: Words, i: int) -> tuple[int, int, bool] | None:
    """(end, minutes, a number that may be an hour itself) of "quarter", "half", "ten", "25 minutes"."""
    fraction = read_fraction(w, i)
    if fraction and "/" not in w.tokens[i] and fraction[1] * 4 in (1, 2):
        return fraction[0], int(fraction[1] * 60), False
    token = w.tokens[i]
    value = end = 0
    if token.isdigit() and len(token) <= 2:
        value, end = int(token), i + 1
    elif kind(w, i) in ("unit", "teen", "ten"):
        value, end = worth(w, i), i + 1
        if kind(w, i) == "ten" and kind(w, end) == "unit":
            value, end = value + worth(w, end), end + 1
    if not 1 <= value <= 29:
        return None
    if end < len(w.tokens) and w.tokens[end] in ("min", "mins", "minute", "minutes"):
        return end + 1, value, False
    return end, value, value <= 12


def _past_or_to(w: Words, i: int) -> Clock | None:
    lists = lexicon().lists
    lead = _before_hour(w, i)
    if lead is None or lead[0] >= len(w.tokens):
        return None
    end, minutes, may_be_hour = lead
    word = w.tokens[end]
    hour = _hour(w, end + 1)
    if hour is None:
        return None
    if word in lists["past"] and (minutes in (5, 10, 15, 20, 25, 30) or word == "past"):
        at, reading = _finish(w, i, hour[0], hour[1] % NOON + minutes if not hour[2] else hour[1] + minutes, hour[2])
        return Clock(at, (reading,))
    quarter_of = word == "of" and minutes == 15 and not may_be_hour
    if not (word in lists["to"] or word in lists["through"] or quarter_of) or minutes == 30:
        return None
    at, reading = _finish(w, i, hour[0], hour[1] - minutes, hour[2])
    if not may_be_hour or (hour[2] and minutes in (5, 10)):
        return Clock(at, (reading,)) if word != "-" else None
    return _to_or_until(w, i, word, minutes, hour, at, reading)


def _to_or_until(w: Words, i: int, word: str, number: int, hour: tuple[int, int, str], at: int,
                 before: Reading) -> Clock | None:
    """"ten to six", "10 till 7", "8 to 6": minutes before an hour, or from one hour to the next."""
    lists = lexicon().lists
    previous = w.tokens[i - 1] if i else ""
    if previous in ("from", "between", "frm"):
        return None
    if number in (5, 10) and word in ("to", "too", "2") and previous not in lists["running"] \
            and (previous in lists["clock_before"] or not w.tokens[i].isdigit()):
        return Clock(at, (before,))
    start = Reading("clock", number * 60, "12h")
    other = before if number in (5, 10) else Reading("number", Decimal(number))
    readings = (start, other) if number not in (5, 10) else (other, start)
    return Clock(at, readings, (hour[1] // 60) or 12) if word in lists["through"] or number in (5, 10) else None


def _half_hour(w: Words, i: int) -> Clock | None:
    """"half seven": 7:30, and 6:30 where people count towards the hour."""
    if w.tokens[i] not in lexicon().lists["half"]:
        return None
    hour = _hour(w, i + 1)
    if hour is None or hour[2]:
        return None
    end, british = _finish(w, i, hour[0], hour[1] % NOON + 30, "")
    _, towards = _finish(w, i, hour[0], hour[1] - 30, "")
    return Clock(end, (british, towards))


def _led(w: Words, i: int, after_clock: bool, at_too: bool = True) -> bool:
    """A word that leads to a time of day stands before token `i`."""
    if i == 0:
        return False
    lists, tokens = lexicon().lists, w.tokens
    j = i - 1
    while j > 0 and tokens[j] in lists["about"]:
        j -= 1
    before = tokens[j]
    if before in lists["leads"] or (at_too and before in lists["at"]):
        return True
    between = j >= 2 and (tokens[j - 2] in ("between", "from", "frm"))
    return before in lists["through"] | {"and"} and (between or after_clock) or before == "between"


def also_clock(w: Words, i: int, end: int, after_clock: bool) -> tuple[bool, Reading] | None:
    """(clock likelier than number, its reading) when the bare number at [i, end) may be a time of day, or None."""
    said = hour_minute(w, i)
    if said is None or said.end != end:
        return None
    tokens = w.tokens
    if tokens[end:end + 1] in (["/"], ["per"]) or tokens[end:end + 2] in (["a", "day"], ["a", "night"], ["each", "day"], ["each", "night"]):
        return None
    if i > 1 and tokens[i - 1] == "by" and tokens[i - 2] in lexicon().lists["changed"]:       # "going up by 5"
        return None
    _, half = part_of_day(w, i, end)
    led, firmly = _led(w, i, after_clock), _led(w, i, after_clock, at_too=False)
    day = lexicon().day.at(tokens, end + (tokens[end:end + 1] == ["on"])) is not None or bool(half)
    now = tokens[end:end + 1] == ["now"] and i > 0 and tokens[i - 1] in ("it's", "its", "is")
    timely = led or day or now
    reading = on_clock(said.minutes, half, said.plain)
    if said.style == "hour":
        if not timely or said.minutes == 0 and not tokens[i].startswith("00"):
            return None
        digits_late = said.plain and tokens[i][0] != "0"
        return (not digits_late, reading)
    if said.style == "three":
        return (True, reading) if firmly or day else None
    if said.style == "four":
        if tokens[i][0] == "0":
            return True, reading
        likely = said.minutes % 60 and said.minutes % 5 == 0 and said.minutes >= 780
        shift = tokens[end:end + 1] == ["-"] and w.glued(end) and end + 1 < len(tokens) and _FOUR.fullmatch(tokens[end + 1])
        if shift or i > 1 and tokens[i - 1] == "-" and w.glued(i) and _FOUR.fullmatch(tokens[i - 2]):   # "2100-0600"
            return True, reading
        begun = i > 0 and tokens[i - 1] in lexicon().lists["begun"]
        return (timely, reading) if timely or likely or begun or len(tokens) <= 2 else None
    if said.style == "pair":
        late_hour = said.minutes >= 600 and not said.minutes % 5
        return firmly or day or now or late_hour, reading
    said_so = tokens[i].endswith("0") and said.minutes >= 240                 # nobody says 7.30 for 7.3
    return timely or said_so, reading                                         # dot
