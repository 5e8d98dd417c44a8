from __future__ import annotations

from decimal import Decimal

import pint

from knowledge.library import load
from rules.limits import within
from rules.outcome import CannotAnswer, Figure, Outcome
from rules.quantity import UCUM, Quantity, number, parse, qty, unit_of

TEMPERATURES = ("degC", "degF")


def convert(*, amount: Quantity, to: str) -> Outcome:
    """An amount in another unit, by exact factors.

    Takes
        amount  any        in a unit of the closed list (rules.quantity.UCUM); temperatures -50 to 150 degC
        to      text       a unit of the closed list
    Gives
        value  the asked unit
    Refuses
        no_figure          a unit outside the list, or one of another kind (mL has no weight)
        beyond_possible    a temperature outside its range, or an amount below zero
    Remarks
        exact_not_label    the exact US measure; food labels print facts `label` (a rounder one)
        us_ounce           the US fluid ounce, 4 % larger than the imperial one
        by_weight          an ounce of weight, not a fluid ounce
    Source
        ucum-2-2           unit table; temperature C = (F - 32) / 1.8
    """
    if to not in UCUM:
        raise CannotAnswer("no_figure", name="unit", found=to)
    unit = unit_of(amount)
    if unit in TEMPERATURES or to in TEMPERATURES:
        value = _temperature(amount, unit, to)
    else:
        if amount.magnitude < 0:
            raise CannotAnswer("beyond_possible", name="amount", found=amount, low=qty(0, unit), high=None)
        try:
            value = amount.to("" if to == "1" else to)
        except pint.DimensionalityError:
            raise CannotAnswer("no_figure", name="unit", found=to) from None
    label = _label(amount, unit, to)
    pair = {unit, to}
    remarks = (["exact_not_label"] * (label is not None and label != value) + ["us_ounce"] * ("floz_us" in pair)
               + ["by_weight"] * ("oz" in pair))
    return Outcome({"value": Figure(value)}, (("amount", amount), ("value", value)), ("ucum-2-2",), tuple(remarks),
                   facts={"label": label})


def _temperature(amount: Quantity, unit: str, to: str) -> Quantity:
    if unit not in TEMPERATURES or to not in TEMPERATURES:
        raise CannotAnswer("no_figure", name="unit", found=to)
    value = number(amount, unit)
    celsius = value if unit == "degC" else (value - 32) / Decimal("1.8")
    within("convert", temperature=qty(celsius, "degC"))
    if to == unit:
        return amount
    return qty(celsius if to == "degC" else value * Decimal("1.8") + 32, to)


def _label(amount: Quantity, unit: str, to: str) -> Quantity | None:
    """What food labels would make of it (fda-101-9), where a household measure meets mL."""
    sizes = {entry["unit"]: parse(entry["size"]) for entry in load("figures")["household"]["figure"]}
    if unit in sizes and to in ("mL", "L"):
        label: Quantity = (number(amount, unit) * sizes[unit]).to(to)
        return label
    if to in sizes and unit in ("mL", "L"):
        return qty(number(amount / sizes[to], "1"), to)
    return None
