"""The numbers of a message as acts see them: a time of day, a bare amount, a range (see acts.py)."""

from __future__ import annotations

import re

from assistant.message import Amount, Reading
from assistant.numbers.said import Said, Spoken
from assistant.told.acts_places import AT, Number
from knowledge.library import table

FOUR_DIGITS, THREE_DIGITS = re.compile(r"(?:[01]\d|2[0-3])[0-5]\d"), re.compile(r"[1-9][0-5]\d")
HOUR_MINUTES = re.compile(r"(?:[01]?\d|2[0-3])[.:][0-5]\d(?!\d)")
HOURS_MINUTES = re.compile(r"([01]?\d|2[0-3])h([0-5]\d)")
TO_FOUR_DIGITS = re.compile(r"([01]\d|2[0-3])([0-5]\d) ?(?:-|to|till?|until) ?\d{4}")
LAST_HOUR, LAST_MINUTE = 12, 59


def clock_of(spoken: Spoken, said: Said) -> Reading | None:
    """The time of day that a number may be: said as one, an hour ("started 10"), or four digits ("2200 flushed").

    Three digits only beside a time of four ("off 1240, on 105"): alone they are a rate or an amount.
    """
    if _an_amount(spoken, said):
        return None
    if (clock := spoken.reading("clock")) is not None:
        return clock
    if (hours := HOURS_MINUTES.fullmatch(spoken.amount.text)) is not None and spoken.reading("time"):
        hour = int(hours[1])  # "continued 8h20"
        return Reading("clock", hour * 60 + int(hours[2]), "12h" if 1 <= hour <= LAST_HOUR else "24h")
    if (ranged := TO_FOUR_DIGITS.fullmatch(spoken.amount.text)) is not None:
        return Reading("clock", int(ranged[1]) * 60 + int(ranged[2]), "24h")
    bare = spoken.amount.readings[0]
    if bare.kind == "number" and spoken.amount.upper is not None and HOUR_MINUTES.match(spoken.amount.text):
        hour, minute = int(bare.value), round(100 * (bare.value % 1))  # "2.30 to 2.40"
        return Reading("clock", hour * 60 + minute, "12h" if 1 <= hour <= LAST_HOUR else "24h")
    if bare.kind != "number" or bare.value != int(bare.value):
        return None
    if 1 <= bare.value <= LAST_HOUR:
        return Reading("clock", int(bare.value) * 60, "12h")
    four = any(FOUR_DIGITS.fullmatch(other.amount.text) for other in said.spoken)
    if FOUR_DIGITS.fullmatch(spoken.amount.text) or (four and THREE_DIGITS.fullmatch(spoken.amount.text)):
        hour, minute = divmod(int(bare.value), 100)
        return Reading("clock", hour * 60 + minute, "12h" if 1 <= hour <= LAST_HOUR else "24h")
    return None


def _an_amount(spoken: Spoken, said: Said) -> bool:
    """ "20 of water", "flushed 5 just now": a bare number, led by no "at"."""
    tokens, amount = said.heard.tokens, spoken.amount
    lead = tokens[amount.start - 1] if amount.start else ""
    after = " ".join(tokens[amount.end : amount.end + 3]) + " "
    before = table("acts_en")["words"]["amount_before"]
    bare = amount.text.isdecimal() and spoken.reading("number") is not None and not FOUR_DIGITS.fullmatch(amount.text)
    return bare and lead not in AT and any(after.startswith(f"{words} ") for words in before)


def number_of(spoken: Spoken, said: Said) -> Number:
    tokens, amount, clock = said.heard.tokens, spoken.amount, clock_of(spoken, said)
    bare = spoken.reading("number")
    return Number(
        first=bare if clock is None and bare is not None and amount.readings[0].kind == "clock" else amount.readings[0],
        clock=clock, bare=bare,
        before=_before_the_hour(amount), upper=_upper(amount),
        ranged=amount.upper is not None, start=amount.start, end=amount.end,
        lead=tokens[amount.start - 1] if amount.start else "",
        after=tokens[amount.end] if amount.end < len(tokens) else "",
    )


TO_AN_HOUR = re.compile(r"(five|ten|5|10) (?:to|till?|until) (?:one|two|three|four|five|six|seven|eight|nine|ten|"
                        r"eleven|twelve|\d{1,2})")


def _before_the_hour(amount: Amount) -> Reading | None:
    """ "Five till nine" may be five minutes before nine, beside a range."""
    if amount.upper is None or TO_AN_HOUR.fullmatch(amount.text.lower()) is None:
        return None
    minutes = 5 if amount.text.lower().startswith(("five", "5")) else 10
    return Reading("clock", (int(amount.upper) * 60 - minutes) % 720, "12h")


def _upper(amount: Amount) -> Reading | None:
    """The second time of "11 to 11.30"; None where it is an "or", or no time of day."""
    if amount.upper is None:
        return None
    whole = int(amount.upper)
    hour, minutes = divmod(whole, 100) if whole > 24 else (whole, int(100 * (amount.upper - whole)))
    if not re.search(r"\bto\b|till?\b|until|-", amount.text) or hour > 23 or minutes > LAST_MINUTE:
        return None
    return Reading("clock", hour * 60 + minutes, "12h" if 1 <= hour <= LAST_HOUR else "24h")
