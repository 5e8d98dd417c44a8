"""Plain times of day: "9pm", "21:15", "half seven", "twenty to ten", "2145 hours": clock readings only."""

from __future__ import annotations

import re
from decimal import Decimal

from assistant.hear.lexicon import lexicon
from assistant.hear.numbers import kind, read_fraction, worth
from assistant.hear.per import per_time
from assistant.hear.said_times import DAY, NOON, Clock, Said, hour_minute, on_clock, part_of_day
from assistant.hear.time_or_number import led_to_time
from assistant.hear.tokens import Words
from assistant.message import Reading

AT_AN_HOUR = frozenset({
    "at", "on", "from", "since", "until", "till", "til", "before", "begin", "began", "begun", "start", "started",
    "starting", "commenced", "hung", "connected", "restarted", "stopped",
})
NO_HOUR = frozenset({
    "ago", "back", "interval", "intervals", "later", "late", "early", "mark", "long", "min", "mins", "minutes", "feed",
    "limit",
})


def clock(w: Words, i: int) -> Clock | None:
    """A plain time of day at token `i`, or None."""
    lex = lexicon()
    noon = lex.noon.at(w.tokens, i)
    if noon:
        return Clock(noon[0], (Reading("clock", noon[1], "24h"),))
    return _past_or_to(w, i) or _half_hour(w, i) or _hour_word(w, i) or _with_suffix(w, i)


def _hour_word(w: Words, i: int) -> Clock | None:
    """ "At 23 hour", "from 21 hour 20": a time of day as other languages say it; with "for" or "ago" it is a length."""
    tokens, hour = w.tokens, w.tokens[i]
    if not re.fullmatch(r"\d\d?", hour) or int(hour) > 23 or not 0 < i < len(tokens) - 1:
        return None
    if tokens[i + 1] not in ("hour", "h") or tokens[i - 1] not in AT_AN_HOUR:
        return None
    minutes = tokens[i + 2] if i + 2 < len(tokens) and re.fullmatch(r"[0-5]\d", tokens[i + 2]) else ""
    end = i + 2 + bool(minutes)
    if tokens[end : end + 1] and tokens[end] in NO_HOUR:
        return None
    return Clock(end, (on_clock(int(hour) * 60 + int(minutes or 0), "", int(hour) > 12 or hour[0] == "0"),))


def _with_suffix(w: Words, i: int) -> Clock | None:
    said = hour_minute(w, i)
    if said is None:
        return None
    tokens, end = w.tokens, said.end
    spaced = _seven_thirty(w, i, said)
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
        return (
            Clock(after, (on_clock(said.minutes, half, said.plain),))
            if said.minutes
            else Clock(after, (Reading("clock", 0, "24h"),))
        )
    if said.style in ("four", "pair", "colon") and tokens[end : end + 1] and tokens[end] in ("hours", "hrs", "h", "hr"):
        if said.style == "four" or (said.plain and not (said.style == "colon" and said.minutes < 60)):
            return Clock(end + 1, (Reading("clock", said.minutes, "24h"),))
        if said.style != "colon":
            return None
        length = Reading("time", Decimal(said.minutes), "min")  # "1:30 hours"
        time = on_clock(said.minutes, "", said.plain)
        return Clock(
            end + 1, (length,) if said.minutes < 60 else (length, time) if said.minutes < 300 else (time, length)
        )
    after, half = part_of_day(w, i, end)
    if said.style == "colon" or after > end or (half and said.minutes and led_to_time(w, i, False)):
        return Clock(after, (on_clock(said.minutes, half, said.plain),))
    return None


def _seven_thirty(w: Words, i: int, said: Said) -> Said | None:
    """ "7 30 pm", "opened 7 40 this morning", "unhooked 6 15": minutes as a token of their own.

    Before am or pm always; else only five minutes' steps that the words beside them make a time of day.
    """
    end, tokens, lex = said.end, w.tokens, lexicon()
    if said.style != "hour" or end >= len(tokens) or not re.fullmatch(r"[0-5]\d", tokens[end]):
        return None
    together = Said(end + 1, said.minutes + int(tokens[end]), said.plain, "colon")
    if lex.suffix.at(tokens, end + 1):
        return together
    after = tokens[end + 1] if end + 1 < len(tokens) else ""
    amount = lex.unit.at(tokens, end + 1) or after in _OF_AN_AMOUNT or after[:1].isdecimal() or kind(w, end + 1)
    if amount or int(tokens[end]) % 5 or (i and tokens[i - 1][:1].isdecimal()):
        return None
    day = lex.day.at(tokens, end + 1) or lex.part.at(tokens, end + 1)
    begun = i > 0 and tokens[i - 1] in lex.lists["begun"]
    return together if day or begun or led_to_time(w, i, False) else None


_OF_AN_AMOUNT = frozenset({"left", "remaining", "gone", "still", "an", "per", "/", "-", "x", "hanging"})


def _hour(w: Words, i: int) -> tuple[int, int, str] | None:
    """(end, minutes, half) of a lone hour 1 to 12, noon or midnight, not the start of an amount."""
    lex = lexicon()
    if i >= len(w.tokens):
        return None
    noon = lex.noon.at(w.tokens, i)
    if noon:
        return noon[0], noon[1], "noon"
    if w.tokens[i].isdecimal() and len(w.tokens[i]) <= 2:
        hour = int(w.tokens[i])
    else:
        hour = worth(w, i) if kind(w, i) in ("unit", "teen") else 0
    end = i + 1
    if not 1 <= hour <= 12 or kind(w, end) in ("hundred", "thousand") or w.tokens[end : end + 1] == ["point"]:
        return None
    if lex.unit.at(w.tokens, end) and not lex.suffix.at(w.tokens, end):
        return None
    per = per_time(w, end)
    return None if per and per[1] != "d" else (end, hour * 60, "")


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
    if token.isdecimal() and len(token) <= 2:
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
        return _minute_hand(w, end, minutes, may_be_hour and minutes not in (5, 10))
    if word in lists["past"] and (minutes in (5, 10, 15, 20, 25, 30) or word == "past"):
        at, reading = _finish(w, i, hour[0], hour[1] % NOON + minutes if not hour[2] else hour[1] + minutes, hour[2])
        return Clock(at, (reading,))
    if word in lists["through"] - {"to"} and w.tokens[hour[0] : hour[0] + 1] in (["past"], ["after"]):
        return None  # "one till ten past": ten minutes past it
    quarter_of = word == "of" and minutes == 15 and not may_be_hour
    if not (word in lists["to"] or word in lists["through"] or quarter_of) or minutes == 30:
        return None
    at, reading = _finish(w, i, hour[0], hour[1] - minutes, hour[2])
    hours = minutes > 12 and end == i + 1 and w.tokens[i].isdecimal()  # "22 till 6", "from 20 to 6"
    if hours and (minutes % 5 or (i and w.tokens[i - 1] in ("from", "between"))):
        return None
    span = i > 0 and w.tokens[i - 1] in ("from", "between", "frm")  # "from ten till midnight"
    if not may_be_hour or (hour[2] and minutes in (5, 10) and not span):
        return Clock(at, (reading,)) if word != "-" else None
    return _to_or_until(w, i, word, minutes, hour, at, reading)


QUARTER = 15
AFTER_THE_HAND = frozenset({*".,;?!", "now", "when", "and", "so", "but", "what", "whats", "how", "is", "please"})
# ... and the words of what was done then ("quarter past gave his meds"), where the hand is plainly past the hour.
THEN_DONE = frozenset({
    "i", "we", "he", "she", "they", "it", "then", "because", "cos", "just", "back", "gave", "given", "flushed", "flush",
    "paused", "stopped", "put", "started", "off", "on", "for", "with", "him", "her", "took", "restarted", "resumed",
    "poured", "medicine", "meds", "new", "again", "changed", "swapped", "topped", "sick", "vomited", "flushing",
})


def _minute_hand(w: Words, at: int, minutes: int, may_be_hour: bool) -> Clock | None:
    """ "Started at quarter past", "five to": the hour is left to the clock on the wall."""
    word, after = w.tokens[at], w.tokens[at + 1 : at + 2]
    past = word in ("past", "pst", "parst")
    told = after and after[0] in THEN_DONE and (past or (word == "after" and minutes == QUARTER))
    plainly = (past or word == "to") and not (after and after[0] not in AFTER_THE_HAND)
    if may_be_hour or minutes % 5 or not (told or plainly):
        return None
    past = past or word == "after"
    return Clock(at + 1, (Reading("clock", minutes if past else 60 - minutes, "hand"),))


def _to_or_until(
    w: Words, i: int, word: str, number: int, hour: tuple[int, int, str], at: int, before: Reading
) -> Clock | None:
    """ "ten to six", "10 till 7", "8 to 6": minutes before an hour, or from one hour to the next."""
    lists = lexicon().lists
    previous = w.tokens[i - 1] if i else ""
    if previous in ("from", "between", "frm"):
        return None
    if (
        number in (5, 10)
        and word in ("to", "too", "2")
        and previous not in lists["running"]
        and (previous in lists["clock_before"] or not w.tokens[i].isdecimal())
    ):
        return Clock(at, (before,))
    start = Reading("clock", number * 60, "12h")
    other = before if number in (5, 10) else Reading("number", Decimal(number))
    readings = (start, other) if number not in (5, 10) else (other, start)
    return Clock(at, readings, (hour[1] // 60) or 12) if word in lists["through"] or number in (5, 10) else None


def _half_hour(w: Words, i: int) -> Clock | None:
    """ "half seven": 7:30, and 6:30 where people count towards the hour."""
    if w.tokens[i] not in lexicon().lists["half"]:
        return None
    hour = _hour(w, i + 1)
    if hour is None or hour[2]:
        return None
    end, british = _finish(w, i, hour[0], hour[1] % NOON + 30, "")
    _, towards = _finish(w, i, hour[0], hour[1] - 30, "")
    return Clock(end, (british, towards))
