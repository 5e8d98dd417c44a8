"""Quantities of FHIR: a number, a code of UCUM, a text beside it. Where the two say different things, both are kept."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any, NamedTuple

from assistant.fhir.reading import Leaves, NotAnOrder, clean, shown
from knowledge.library import table

UCUM = "http://unitsofmeasure.org"


class Measured(NamedTuple):
    """A number with the units that it can have been meant in; `sure` where code and text leave one.

    measure   volume, rate, daily, energy or time
    readings  codes of UCUM, the coded one first
    said      as the order writes it: "60 ml/hr (mL/h)"
    where     the path it stands at
    """

    number: Decimal
    measure: str
    readings: tuple[str, ...]
    sure: bool
    said: str
    where: str

    def unit(self, code: str | None = None) -> Mapping[str, Any]:
        """What is known of a unit: of `code`, or of the first reading."""
        return unit_of(self.measure, code or self.readings[0])

    def ml(self, code: str | None = None) -> Decimal:
        """In mL, mL/h or mL a day. Not for energy or time."""
        return self.number * Decimal(self.unit(code)["ml"])

    def kcal_per_ml(self, code: str | None = None, thousandth: bool = False) -> Decimal:
        """Energy in kcal/mL; with `thousandth` the code's small calories to the letter."""
        return self.number / Decimal(self.unit(code)["per_ml"]) / (1000 if thousandth else 1)

    def plan(self, code: str | None = None) -> str:
        """As a care plan writes it: "60 mL/h", "4 fl oz"; in mL where a plan does not know the unit."""
        unit = self.unit(code)
        if "plan" in unit:
            return f"{exact(self.number)} {unit['plan']}"
        return f"{exact(self.ml(code))} mL"


def unit_of(measure: str, code: str) -> Mapping[str, Any]:
    found: Mapping[str, Any] = table("fhir_codes")[measure][code]
    return found


def exact(number: Decimal) -> str:
    """Without an exponent and without zeros at the end."""
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def measured(leaves: Leaves, *path: str | int, measures: tuple[str, ...]) -> Measured | None:
    """The Quantity at `path`; None where there is none.

    Raises NotAnOrder: malformed, comparator ("less than" is no amount), not_positive, unknown_unit.
    """
    if not leaves.has(*path):
        return None
    number, where = leaves.take(*path, "value"), shown(path)
    if leaves.has(*path, "comparator"):
        raise NotAnOrder("comparator", where=where)
    if not isinstance(number, Decimal):
        raise NotAnOrder("malformed", where=where)
    if number <= 0:
        raise NotAnOrder("not_positive", where=where)
    system, code, text = (leaves.text(*path, name) for name in ("system", "code", "unit"))
    said = f"{exact(number)} {text or code}" + (f" ({code})" if text and code and code != text else "")
    for measure in measures:
        known = table("fhir_codes")[measure]
        by_text = tuple(one for one, unit in known.items()
                        if " ".join(text.casefold().split()) in unit["spelled"] or text == one)
        coded = code if system == UCUM and code in known else ""
        if coded:
            sure = not text or coded in by_text
            others = () if sure else by_text
            return Measured(number, measure, (coded, *others), sure, said, where)
        if by_text and system != UCUM:
            return Measured(number, measure, by_text, False, said, where)
    raise NotAnOrder("unknown_unit", where=where, said=clean(said))


def per_hour(leaves: Leaves, *path: str | int) -> Measured | None:
    """A rate written as a Ratio (60 mL over 1 h), in mL/h. Raises NotAnOrder where it does not come out even."""
    if not leaves.has(*path):
        return None
    amount = measured(leaves, *path, "numerator", measures=("volume",))
    over = measured(leaves, *path, "denominator", measures=("time",))
    if amount is None or over is None:
        raise NotAnOrder("malformed", where=shown(path))
    hours = over.number * Decimal(over.unit()["minutes"]) / 60
    number = amount.ml() / hours
    if not (amount.sure and over.sure) or number * hours != amount.ml():
        raise NotAnOrder("odd_rate", where=shown(path))
    return Measured(number, "rate", ("mL/h",), True, f"{amount.said} / {over.said}", shown(path))
