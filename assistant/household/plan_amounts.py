"""Amounts in a care plan: "85 mL/h". A strict reader of our own, since Pint's parser guesses ("1,5 L" -> 15 L).

Counts in Decimal and knows no Pint: checking a plan must not wait for Pint to load.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import NamedTuple

from assistant.household.plan_faults import Wrong, nearest


class Amount(NamedTuple):
    """A number and one of our units. Each measure has one unit, except time (h, min, day as written).

    written   the amount as it stands in the plan, where that is in another unit ("148 lb"); else ""
    """

    number: Decimal
    unit: str
    written: str = ""

    def text(self) -> str:
        """In our unit: "85 mL/h". Exact, never with an exponent."""
        unit = "days" if self.unit == "day" and self.number != 1 else self.unit
        return f"{self.number:f} {unit}"


ONE = Decimal(1)
FLOZ_US_ML = Decimal("29.5735295625")       # NIST Handbook 44, appendix C: gallon of 231 cubic inches / 128
LB_KG = Decimal("0.45359237")               # NIST Handbook 44, appendix C

#: measure -> spelling of a unit -> our unit, and how many of ours one of it is
UNITS: dict[str, dict[str, tuple[str, Decimal]]] = {
    "volume": {"mL": ("mL", ONE), "ml": ("mL", ONE), "L": ("mL", Decimal(1000)), "l": ("mL", Decimal(1000))},
    "rate": {
        **{f"{ml}/{hour}": ("mL/h", ONE) for ml in ("mL", "ml") for hour in ("h", "hr", "hour")},
        **{f"{ml}/min": ("mL/h", Decimal(60)) for ml in ("mL", "ml")},
        "L/h": ("mL/h", Decimal(1000)), "l/h": ("mL/h", Decimal(1000)),
    },
    "time": {
        **dict.fromkeys(("h", "hr", "hrs", "hour", "hours"), ("h", ONE)),
        **dict.fromkeys(("min", "mins", "minute", "minutes"), ("min", ONE)),
        **dict.fromkeys(("day", "days", "d"), ("day", ONE)),
        **{word: ("day", Decimal(7)) for word in ("week", "weeks")},
    },
    "energy": {
        "kcal/mL": ("kcal/mL", ONE), "kcal/ml": ("kcal/mL", ONE),
        "kcal/L": ("kcal/mL", Decimal("0.001")), "kcal/l": ("kcal/mL", Decimal("0.001")),
        "kcal/100 mL": ("kcal/mL", Decimal("0.01")), "kcal/100 ml": ("kcal/mL", Decimal("0.01")),
    },
    "protein": {
        "g/L": ("g/L", ONE), "g/l": ("g/L", ONE),
        "g/100 mL": ("g/L", Decimal(10)), "g/100 ml": ("g/L", Decimal(10)),
    },
    "weight": {
        "kg": ("kg", ONE), "g": ("kg", Decimal("0.001")),
        "lb": ("kg", LB_KG), "lbs": ("kg", LB_KG),
    },
    "powder": {"g": ("g", ONE)},
    "length": {"cm": ("cm", ONE), "mm": ("cm", Decimal("0.1"))},
    "french": {"Fr": ("Fr", ONE)},
    "drop_factor": {
        f"{drop}/{ml}": ("drop/mL", ONE) for drop in ("drop", "drops", "gtt") for ml in ("mL", "ml")
    },
    "percent": {"%": ("%", ONE)},
}

#: the fluid ounce differs between countries: read only where the plan says units = "us"
US_ONLY = {
    "volume": {"fl oz": ("mL", FLOZ_US_ML)},
    "rate": {"fl oz/h": ("mL/h", FLOZ_US_ML)},
    "energy": {"kcal/fl oz": ("kcal/mL", ONE / FLOZ_US_ML)},
}

#: units that people write and that stand for more than one amount
TWO_MEANINGS = frozenset({"oz", "ounce", "ounces", "cup", "cups", "tsp", "tbsp", "pint", "pints", "scoop", "scoops"})

_SHAPE = re.compile(r"\s*([+-]?)([0-9]+(?:\.[0-9]+)?|\.[0-9]+)(?:\s*([^\s0-9.,+-].*?))?\s*")
_COMMA = re.compile(r"\s*[+-]?[0-9]+(?:[.,][0-9]+)*,[0-9]+")
LONGEST_NUMBER = 40


def read_amount(text: str, measure: str, *, units: str | None = None) -> Amount:
    """The amount that `text` says, in our unit for `measure`; `units` is the plan's "us", "metric" or None.

    Raises Wrong: decimal_comma, no_unit, not_an_amount, wrong_measure, two_meanings, us_only, unknown_unit.
    """
    if _COMMA.match(text):
        raise Wrong("decimal_comma")
    shape = _SHAPE.fullmatch(text)
    if shape is None or len(shape[2]) > LONGEST_NUMBER:
        raise Wrong("not_an_amount")
    if shape[3] is None:
        raise Wrong("no_unit")
    unit = " ".join(shape[3].split())
    own, factor = _own_unit(unit, measure, units, shape[2])
    number = Decimal(shape[1] + shape[2])
    if factor == ONE:
        return Amount(number, own)
    return Amount(_plain(number * factor), own, f"{number:f} {unit}")


def _own_unit(unit: str, measure: str, units: str | None, number: str) -> tuple[str, Decimal]:
    known = UNITS[measure] | (US_ONLY.get(measure, {}) if units == "us" else {})
    if unit in known:
        return known[unit]
    if unit.casefold() in TWO_MEANINGS:
        raise Wrong("two_meanings", unit=unit)
    if unit in US_ONLY.get(measure, {}):
        raise Wrong("us_only", unit=unit)
    if any(unit in table for table in (*UNITS.values(), *US_ONLY.values())):
        raise Wrong("wrong_measure", unit=unit)
    close = nearest(unit, known)
    if close is None and measure == "percent" and unit.casefold() in {"percent", "per cent"}:
        close = "%"
    own = known[close][0] if close and known[close][1] == ONE else close
    raise Wrong("unknown_unit", unit=unit, suggestion=f'"{number} {own}"' if own else None)


def _plain(number: Decimal) -> Decimal:
    """Without the zeros that a factor leaves behind (500.000 -> 500), and without an exponent."""
    whole = number.to_integral_value()
    return whole if number == whole else number.normalize()
