"""Rounding for display: half up, once, at the very end. No sum is ever done with a rounded amount.

Whole mL from 10 mL up and one decimal below (common practice); a rate ordered with a tenth keeps it (38.5 mL/h is never
shown as 39); powder and protein to a tenth of a gram; whole drops; times to the minute, and a finish or discard time
is never rounded later than it is.
"""

from __future__ import annotations

from datetime import datetime
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal

from rules.quantity import Quantity, number, qty, unit_of

TEN = Decimal(10)

#: units that are read to fixed decimals whatever their size; every other unit follows the rule above
PLACES = {"1": 2, "g": 1, "kcal/mL": 2, "kJ/mL": 2, "degC": 1, "degF": 1, "kg": 1, "lb": 1, "drop/min": 0, "cm": 1,
          "mm": 1, "floz_us": 1, "floz_uk": 1, "oz": 1, "tsp": 1, "tbsp": 1, "cup": 2, "pint": 2, "pint_uk": 2, "L": 3,
          "in": 1, "stone": 2}
FINE = {"kcal": 2}  # of one mL: places below ten, whole above


def half_up(value: Decimal, places: int = 0) -> Decimal:
    """`value` to so many decimals; a half goes away from zero."""
    return value.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)


def shown_number(value: Decimal) -> Decimal:
    """Whole from 10 up, one decimal below, no trailing zero. 9.96 shows as 10."""
    rounded = half_up(value, 0 if abs(value) >= TEN else 1)
    return half_up(rounded) if rounded == rounded.to_integral_value() else rounded


def shown(amount: Quantity) -> Quantity:
    """An amount as people see it: whole from 10 up and one decimal below, or the places its unit is read to."""
    unit = unit_of(amount)
    value = number(amount, unit)
    if unit == "mL/h" and -int(value.normalize().as_tuple().exponent) <= 1:
        return amount  # as a pump is set
    fine = unit in FINE and abs(value) < TEN
    if unit not in PLACES and not fine:
        return qty(shown_number(value), unit)
    rounded = half_up(value, FINE[unit] if fine else PLACES[unit])
    return qty(half_up(rounded) if rounded == rounded.to_integral_value() else rounded.normalize(), unit)


def whole(amount: Quantity) -> Quantity:
    """To the nearest whole, half up: drops, scoops, kilocalories."""
    unit = unit_of(amount)
    return qty(half_up(number(amount, unit)), unit)


def whole_up(amount: Quantity) -> int:
    """The next whole number: containers, fills, bags. A part of one needs all of it."""
    return int(number(amount, "1").to_integral_value(rounding=ROUND_CEILING))


def whole_down(amount: Quantity) -> int:
    """The whole number below: what a stock is good for."""
    return int(number(amount, "1").to_integral_value(rounding=ROUND_FLOOR))


def to_step(rate: Quantity, step: Quantity) -> Quantity:
    """A rate to the nearest step that the pump can be set to, half up."""
    unit = unit_of(rate)
    size = number(step, unit)
    return qty(half_up(number(rate, unit) / size) * size, unit)


def to_minutes(time: Quantity) -> int:
    """A length of time in whole minutes, half up."""
    return int(half_up(number(time, "min")))


def minute(at: datetime) -> datetime:
    """A clock time to the minute, never later than it is: the seconds are dropped."""
    return at.replace(second=0, microsecond=0)
