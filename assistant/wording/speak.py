"""Facts as people say them: numbers in words, units in full, no symbols."""

from __future__ import annotations

import re
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from rules.quantity import Quantity, is_amount, number, unit_of
from rules.rounding import minute, shown, to_minutes

ONES = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
TENS = ["-", "-", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
UNITS = {
    "mL": ("millilitre", "millilitres"),
    "L": ("litre", "litres"),
    "mL/h": ("millilitre an hour", "millilitres an hour"),
    "kcal": ("kilocalorie", "kilocalories"),
    "g": ("gram", "grams"),
    "kg": ("kilogram", "kilograms"),
    "day": ("day", "days"),
    "lb": ("pound", "pounds"),
    "floz_us": ("fluid ounce", "fluid ounces"),
    "floz_uk": ("fluid ounce", "fluid ounces"),
    "drop/min": ("drop a minute", "drops a minute"),
    "drop/mL": ("drop a millilitre", "drops a millilitre"),
    "s": ("second", "seconds"),
    "cup": ("cup", "cups"),
    "kcal/mL": ("kilocalorie a millilitre", "kilocalories a millilitre"),
    "%": ("percent", "percent"),
    "degC": ("degree Celsius", "degrees Celsius"),
    "degF": ("degree Fahrenheit", "degrees Fahrenheit"),
    "1": ("", ""),
    "mL/kg/day": ("millilitre a kilogram a day", "millilitres a kilogram a day"),
    "tsp": ("teaspoon", "teaspoons"),
    "kcal/kg/day": ("kilocalorie a kilogram a day", "kilocalories a kilogram a day"),
    "tbsp": ("tablespoon", "tablespoons"),
    "cm": ("centimetre", "centimetres"),
    "mm": ("millimetre", "millimetres"),
    "Fr": ("French", "French"),
    "mg": ("milligram", "milligrams"),
    "kJ": ("kilojoule", "kilojoules"),
    "oz": ("ounce", "ounces"),
    "stone": ("stone", "stone"),
    "pint": ("US pint", "US pints"),
    "pint_uk": ("UK pint", "UK pints"),
    "floz_us/h": ("fluid ounce an hour", "fluid ounces an hour"),
    "kcal/floz_us": ("kilocalorie a fluid ounce", "kilocalories a fluid ounce"),
    "g/L": ("gram a litre", "grams a litre"),
    "L/h": ("litre an hour", "litres an hour"),
    "mL/min": ("millilitre a minute", "millilitres a minute"),
    "in": ("inch", "inches"),
    "mL/day": ("millilitre a day", "millilitres a day"),
}


def whole_in_words(value: int) -> str:
    if value < 0:
        return "minus " + whole_in_words(-value)
    if value < 20:
        return ONES[value]
    if value < 100:
        tens, one = divmod(value, 10)
        return TENS[tens] + (f" {ONES[one]}" if one else "")
    if value < 1000:
        hundreds, rest = divmod(value, 100)
        return f"{ONES[hundreds]} hundred" + (f" and {whole_in_words(rest)}" if rest else "")
    if value < 1_000_000:
        thousands, rest = divmod(value, 1000)
        joint = " and " if 0 < rest < 100 else " "
        return f"{whole_in_words(thousands)} thousand" + (joint + whole_in_words(rest) if rest else "")
    return " ".join(ONES[int(d)] for d in str(value))


def in_words(value: Decimal) -> str:
    """62.5 -> "sixty two point five"."""
    whole = whole_in_words(int(value))
    text = f"{abs(value):f}"
    fraction = text.split(".")[1].rstrip("0") if "." in text else ""
    sign = "minus " if value < 0 and int(value) == 0 else ""
    return sign + whole + (" point " + " ".join(ONES[int(d)] for d in fraction) if fraction else "")


def digits_in_words(text: str) -> str:
    """ "2 hours, 7:30, 50 mL" -> "two hours, seven thirty, fifty millilitres": as it was typed, for a voice."""
    parted = re.sub(r"(?<=\d):(?=\d)", " ", text)
    parted = re.sub(r"(?<=\d) ?(?:mls?|cc)\b", " millilitres", parted, flags=re.IGNORECASE)
    return re.sub(r"\d+(?:\.\d+)?", lambda m: in_words(Decimal(m.group())), parted)


def length(span: Quantity) -> str:
    hours, rest = divmod(abs(to_minutes(span)), 60)
    parts = []
    if hours:
        parts.append(f"{whole_in_words(hours)} hour{'s' if hours != 1 else ''}")
    if rest or not hours:
        parts.append(f"{whole_in_words(rest)} minute{'s' if rest != 1 else ''}")
    return " ".join(parts)


def clock(at: datetime) -> str:
    at = minute(at)
    if at.minute == 0 and at.hour in (0, 12):
        return "midnight" if at.hour == 0 else "noon"
    hour = whole_in_words(at.hour % 12 or 12)
    past = "" if at.minute == 0 else f" oh {ONES[at.minute]}" if at.minute < 10 else f" {whole_in_words(at.minute)}"
    part = (
        "in the morning"
        if at.hour < 12
        else "in the afternoon"
        if at.hour < 18
        else "in the evening"
        if at.hour < 22
        else "at night"
    )
    return f"{hour}{past} {part}"


def speak(value: Any, now: datetime) -> str:
    """Any fact as a voice says it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return whole_in_words(value)
    if is_amount(value):
        unit = unit_of(value)
        if unit in ("h", "min"):
            return length(value)
        figure = number(shown(value), unit)
        one, many = UNITS.get(unit, (unit, unit))
        return f"{in_words(figure)} {one if figure == 1 else many}".strip()
    if isinstance(value, datetime):
        here = value.astimezone(now.tzinfo)
        days = (here.date() - now.date()).days
        late = {0: "", 1: " tomorrow", -1: " yesterday"}.get(days, f" on {here:%A}")
        return (
            clock(here).replace(" in the", late + " in the")
            if days == 1 and " in the" in clock(here)
            else clock(here) + late
        )
    if isinstance(value, time):
        return clock(datetime.combine(now.date(), value, now.tzinfo))
    if isinstance(value, date):
        return f"{value:%A} {whole_in_words(value.day)} {value:%B}"
    if isinstance(value, Decimal):
        return in_words(value)
    return str(value)


def limit(speech: str, words: int = 35) -> str:
    """Whole sentences while they fit; a first sentence is never cut."""
    kept: list[str] = []
    for sentence in speech.replace("! ", "!|").replace(". ", ".|").replace("? ", "?|").split("|"):
        if kept and sum(len(k.split()) for k in kept) + len(sentence.split()) > words:
            break
        kept.append(sentence)
    return two_sentences(" ".join(kept))


def two_sentences(speech: str) -> str:
    """The same words in at most two sentences: the shortest neighbours become one ("Do not start; set it again.")."""
    parts = re.split(r"(?<=[^.][.!?]) ", speech)
    while len(parts) > 2:
        joints = [i for i in range(len(parts) - 1) if parts[i].endswith(".")] or list(range(len(parts) - 1))
        at = min(joints, key=lambda i: len(parts[i].split()) + len(parts[i + 1].split()))
        after = parts[at + 1]
        after = after if after.startswith(("I ", "I'")) else after[:1].lower() + after[1:]
        parts[at : at + 2] = [f"{parts[at].rstrip('.!?')}; {after}"]
    return " ".join(parts)
