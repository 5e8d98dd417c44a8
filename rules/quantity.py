"""The one Pint registry: amounts are Decimal, and the units are a closed list.

Source: UCUM 2.2 and NIST SP 811 (fluid ounce, cup, spoon, pound and calorie factors).
"""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal, localcontext
from fractions import Fraction
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeGuard

import pint

if TYPE_CHECKING:
    Quantity = pint.Quantity[Any]
else:
    Quantity = pint.Quantity

#: Pint's unit -> the UCUM code written in records
UCUM = {
    "mL": "mL", "L": "L", "mL/h": "mL/h", "mL/min": "mL/min", "h": "h", "min": "min", "s": "s", "day": "d",
    "kcal": "kcal", "kJ": "kJ", "kcal/mL": "kcal/mL", "g": "g", "mg": "mg", "kg": "kg", "lb": "[lb_av]",
    "oz": "[oz_av]", "stone": "[stone_av]", "floz_us": "[foz_us]", "floz_uk": "[foz_br]", "cup": "[cup_us]",
    "tsp": "[tsp_us]", "tbsp": "[tbs_us]", "pint": "[pt_us]", "pint_uk": "[pt_br]",
    "drop/min": "[drp]/min", "drop/mL": "[drp]/mL",
    "Fr": "[Ch]", "mm": "mm", "cm": "cm", "in": "[in_i]", "degC": "Cel", "degF": "[degF]", "%": "%", "1": "1",
    "mL/kg/day": "mL/kg/d", "kcal/kg/day": "kcal/kg/d", "floz_us/h": "[foz_us]/h", "kcal/floz_us": "kcal/[foz_us]",
    "g/L": "g/L", "mL/day": "mL/d", "L/h": "L/h", "week": "wk", "drop": "[drp]", "drop/s": "[drp]/s",
    "kJ/mL": "kJ/mL", "g/day": "g/d", "kcal/day": "kcal/d", "g/kg/day": "g/kg/d", "L/day": "L/d",
    "mL/kg/h": "mL/kg/h", "g/mL": "g/mL", "kcal/L": "kcal/L", "floz_us/day": "[foz_us]/d",
}


class ExactRegistry(pint.UnitRegistry):        # type: ignore[type-arg]
    """Pint's registry with conversions by exact fractions and one rounding.

    Pint multiplies by a Decimal factor that is itself rounded, so 60 mL/min would become 3600.000…01 mL/h.
    """

    def _convert(self, value: Any, src: Any, dst: Any, *_: Any, **__: Any) -> Any:
        if src == dst:
            return value
        exact = self.exact_factor(src, dst)
        if isinstance(value, Fraction):
            return value * exact
        with localcontext() as wide:
            wide.prec = 80
            widened = Decimal(value) * exact.numerator / exact.denominator
        return +widened

    @lru_cache(maxsize=1024)  # noqa: B019  (one registry for the life of the process)
    def exact_factor(self, src: Any, dst: Any) -> Fraction:
        """How many `dst` one `src` is, as a fraction. DimensionalityError where that makes no sense."""
        kind, wanted = self._get_dimensionality(src), self._get_dimensionality(dst)
        if kind != wanted:
            raise pint.DimensionalityError(src, dst, str(kind), str(wanted))
        exact = Fraction(1)
        for unit, power in (src / dst).items():
            to_base, _ = self._get_root_units(self.UnitsContainer({unit: 1}))
            exact *= Fraction(Decimal(str(to_base))) ** int(power)
        return exact


@cache
def registry() -> ExactRegistry:
    return ExactRegistry(str(Path(__file__).with_name("units.txt")), non_int_type=Decimal)


def qty(value: Decimal | int | str, unit: str) -> Quantity:
    """`value` in `unit` (a key of UCUM). A float is refused: it would not be the number that was said."""
    if isinstance(value, float):
        raise TypeError("amounts are Decimal, int or str, never float")
    return registry().Quantity(Decimal(value), _parsed(unit))


def is_amount(value: Any) -> TypeGuard[Quantity]:
    """Is it one of our quantities?"""
    return isinstance(value, pint.Quantity)


def ucum(unit: str) -> str:
    """UCUM code of one of our units. KeyError for a unit outside the closed list."""
    return UCUM[unit]


@cache
def _names_by_unit() -> dict[Any, str]:
    return {qty(1, name).units: name for name in UCUM}


def unit_of(amount: Quantity) -> str:
    """The key of UCUM that `amount` is in. KeyError for a unit outside the closed list."""
    return _names_by_unit()[amount.units]


def number(amount: Quantity, unit: str) -> Decimal:
    """How many `unit` the amount is, as a plain Decimal. DimensionalityError where that makes no sense."""
    return Decimal(registry().convert(amount.magnitude, amount._units, _parsed(unit)))


@cache
def _parsed(unit: str) -> Any:
    """A unit's name, parsed once: Pint parses it anew each time."""
    return registry().Quantity(1, "" if unit == "1" else unit)._units


def parse(text: str) -> Quantity:
    """An amount written by us in a data file, "85 mL/h". Never for what people say (see assistant/hear)."""
    value, _, unit = text.strip().partition(" ")
    return qty(Decimal(value), unit.strip() or "1")


def as_time(span: timedelta) -> Quantity:
    """A span of the clock as hours, exact to the microsecond."""
    microseconds = (span.days * 86400 + span.seconds) * 1_000_000 + span.microseconds
    return registry().Quantity(Decimal(microseconds) / Decimal(3_600_000_000), "h")


def as_span(time: Quantity) -> timedelta:
    """A length of time as a span of the clock, to the nearest microsecond."""
    exact = Fraction(Decimal(time.magnitude)) * registry().exact_factor(
        time._units, registry().UnitsContainer({"s": 1}))
    return timedelta(microseconds=round(exact * 1_000_000))
