"""Facts as people read them. The rounding is rules/rounding.py's; nothing is computed here."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from rules.quantity import Quantity, is_amount, number, unit_of
from rules.rounding import minute, shown, to_minutes

UNIT_WORDS = {
    "floz_us": "fl oz",
    "floz_uk": "UK fl oz",
    "pint": "US pints",
    "pint_uk": "UK pints",
    "day": "days",
    "degC": "°C",
    "degF": "°F",
    "1": "",
    "drop/min": "drops a minute",
    "drop/mL": "drops/mL",
    "mL/kg/day": "mL/kg a day",
    "kcal/kg/day": "kcal/kg a day",
    "floz_us/h": "fl oz/h",
    "kcal/floz_us": "kcal/fl oz",
    "mL/day": "mL a day",
    "cup": "cups",
    "%": "%",
    "s": "s",
}
COUNTED = ("day", "cup", "pint", "pint_uk")
DIGITS_SAID = 3  # after the point: more than that was worked out


def plain_number(value: Decimal) -> str:
    """1092 -> "1,092"; 62.50 -> "62.5"."""
    text = f"{value:,f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def length(span: Quantity) -> str:
    """A length of time: "6 h 25 min", "35 min", "8 h"."""
    minutes = to_minutes(span)
    sign = "-" if minutes < 0 else ""
    hours, rest = divmod(abs(minutes), 60)
    if not hours and not rest and number(span, "s"):
        return f"{sign}less than a minute"
    parts = ([f"{hours} h"] if hours else []) + ([f"{rest} min"] if rest or not hours else [])
    return sign + " ".join(parts)


def amount(value: Quantity) -> str:
    unit = unit_of(value)
    if unit in ("h", "min"):
        return length(value)
    return _with_unit(number(shown(value), unit), unit)


def _with_unit(value: Decimal, unit: str) -> str:
    word, figure = UNIT_WORDS.get(unit, unit), plain_number(value)
    word = word.removesuffix("s") if value == 1 and unit in COUNTED else word
    return figure + ("" if not word else word if word in ("%", "°C", "°F") else f" {word}")


def exact(value: Quantity) -> str:
    """An amount with the digits that were said (6.15 kg is not 6.2 kg); what was worked out is rounded as ever."""
    figure = number(value, unit_of(value)).normalize()
    if unit_of(value) in ("h", "min") or -int(figure.as_tuple().exponent) > DIGITS_SAID:
        return amount(value)
    return _with_unit(figure, unit_of(value))


def clock(at: datetime, twelve: bool) -> str:
    at = minute(at)
    if not twelve:
        return f"{at:%H:%M}"
    return f"{at.hour % 12 or 12}:{at:%M} {'am' if at.hour < 12 else 'pm'}"


def when(at: datetime, now: datetime, twelve: bool) -> str:
    """A clock time, with the day where it is not today: "05:30 tomorrow (Thu 26 Nov)"."""
    here = at.astimezone(now.tzinfo)
    days = (here.date() - now.date()).days
    shown_time = clock(here, twelve)
    if days == 0:
        return shown_time
    named = {1: "tomorrow", -1: "yesterday"}.get(days)
    dated = day(here.date())
    return f"{shown_time} {named} ({dated})" if named else f"{shown_time} on {dated}"


def day(on: date) -> str:
    return f"{on:%a} {on.day} {on:%b}"


def show(value: Any, now: datetime, twelve: bool = False) -> str:
    """Any fact in the words of the page."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if is_amount(value):
        return amount(value)
    if isinstance(value, datetime):
        return when(value, now, twelve)
    if isinstance(value, time):
        return clock(datetime.combine(now.date(), value, now.tzinfo), twelve)
    if isinstance(value, date):
        return f"{day(value)} {value.year}"
    if isinstance(value, timedelta):
        return f"{value.total_seconds() / 3600:g} h"
    if isinstance(value, Decimal):
        return plain_number(value)
    return str(value)
