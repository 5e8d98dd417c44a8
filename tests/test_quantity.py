"""Units are a closed list with exact factors, amounts are never float, and rounding is half up and done once."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from fractions import Fraction

import pint
import pytest

from rules.quantity import UCUM, as_span, as_time, number, parse, qty, registry, ucum, unit_of
from rules.rounding import half_up, minute, shown, to_minutes, to_step, whole, whole_down, whole_up

#: written out from the sources, not read from rules/units.txt
FACTORS = [
    ("floz_us", "mL", "29.5735295625", "UCUM 2.2 [foz_us]; NIST Handbook 44 Appendix C"),
    ("cup", "mL", "236.5882365", "UCUM 2.2 [cup_us]"),
    ("tbsp", "mL", "14.78676478125", "UCUM 2.2 [tbs_us]"),
    ("tsp", "mL", "4.92892159375", "UCUM 2.2 [tsp_us]"),
    ("pint", "mL", "473.176473", "NIST Handbook 44 Appendix C"),
    ("floz_uk", "mL", "28.4130625", "UCUM 2.2 [foz_br]"),
    ("pint_uk", "mL", "568.26125", "UCUM 2.2 [pt_br]"),
    ("L", "mL", "1000", "SI"),
    ("lb", "kg", "0.45359237", "UCUM 2.2 [lb_av]"),
    ("oz", "g", "28.349523125", "NIST Handbook 44 Appendix C"),
    ("stone", "kg", "6.35029318", "UCUM 2.2 [stone_av]"),
    ("kcal", "kJ", "4.184", "NIST SP 811 Appendix B.8, thermochemical"),
    ("in", "mm", "25.4", "NIST Handbook 44 Appendix C"),
    ("mm", "Fr", "3", "UCUM 2.2 [Ch] is a third of a millimetre"),
    ("cm", "mm", "10", "SI"), ("kg", "g", "1000", "SI"), ("g", "mg", "1000", "SI"),
    ("h", "min", "60", "SI"), ("min", "s", "60", "SI"), ("day", "h", "24", "SI"), ("week", "day", "7", "calendar"),
]


@pytest.mark.parametrize(("one", "other", "factor", "source"), FACTORS)
def test_the_factor_is_the_printed_one(one: str, other: str, factor: str, source: str) -> None:
    assert number(qty(1, one), other) == Decimal(factor), source


def test_a_us_gallon_is_231_cubic_inches_in_fluid_ounces() -> None:
    cubic_inch_ml = Decimal("2.54") ** 3
    assert number(qty(128, "floz_us"), "mL") == 231 * cubic_inch_ml


def test_every_unit_of_the_list_can_be_made_and_named() -> None:
    for name in UCUM:
        assert unit_of(qty(1, name)) == name
        assert ucum(name)


@pytest.mark.parametrize("unit", ["cc", "gal", "hr", "mL/8h", "foo", "m", "gtt"])
def test_a_unit_outside_the_list_is_refused(unit: str) -> None:
    with pytest.raises(KeyError):
        ucum(unit)
    with pytest.raises((pint.UndefinedUnitError, ValueError)):
        qty(1, unit)


def test_a_float_is_refused() -> None:
    with pytest.raises(TypeError, match=r"^amounts are Decimal, int or str, never float$"):
        qty(0.1, "mL")                              # type: ignore[arg-type]


@pytest.mark.parametrize(("value", "unit", "to", "expected"), [
    ("60", "mL/min", "mL/h", "3600"), ("1", "mL/min", "mL/h", "60"), ("7", "day", "min", "10080"),
    ("90", "min", "h", "1.5"), ("1.2", "kcal/mL", "kcal/L", "1200"), ("85", "mL/h", "mL/day", "2040"),
    ("0.1", "L/h", "mL/h", "100"), ("600", "s", "min", "10"), ("55", "g/L", "g/mL", "0.055"),
])
def test_conversions_leave_no_dust(value: str, unit: str, to: str, expected: str) -> None:
    assert number(qty(value, unit), to) == Decimal(expected)


def test_a_third_is_rounded_once() -> None:
    assert number(qty(1, "Fr"), "mm") == Decimal(1) / Decimal(3)
    assert registry().exact_factor(qty(1, "Fr").units._units, qty(1, "mm").units._units) == Fraction(1, 3)
    assert registry().convert(Fraction(1, 3), "h", "min") == 20


def test_the_same_amount_in_another_unit_is_equal() -> None:
    assert qty(60, "mL/h") == qty(1, "mL/min")
    assert qty("0.5", "L") == qty(500, "mL")
    assert qty(50, "%") == qty("0.5", "1")
    assert qty(1, "mL") != qty(1, "h")


def test_kinds_do_not_mix() -> None:
    for one, other in (("mL", "g"), ("oz", "floz_us"), ("drop", "mL"), ("degF", "degC"), ("kcal", "mL"), ("mm", "mL")):
        with pytest.raises(pint.DimensionalityError):
            qty(1, one).to(other)
    with pytest.raises(pint.DimensionalityError):
        qty(1, "mL") + qty(1, "h")


def test_our_own_data_is_parsed_and_nothing_looser() -> None:
    assert parse("85 mL/h") == qty(85, "mL/h")
    assert parse("3 1") == qty(3, "1") and parse("3") == qty(3, "1")
    assert parse(" 85  mL/h ") == qty(85, "mL/h")
    for loose in ("1,5 L", "85mL", "mL", "", "five mL"):
        with pytest.raises((ArithmeticError, ValueError, pint.UndefinedUnitError)):
            parse(loose)


def test_spans_of_the_clock_go_there_and_back() -> None:
    assert as_span(qty("1.5", "h")) == timedelta(minutes=90)
    assert as_time(timedelta(minutes=-90)) == qty("-1.5", "h")
    assert as_span(qty(1, "h") / 3) == timedelta(minutes=20)
    assert as_span(qty("0.0000006", "s")) == timedelta(microseconds=1), "to the nearest microsecond"
    for span in (timedelta(days=2, hours=3, seconds=5, microseconds=7), timedelta(microseconds=-1), timedelta(0)):
        assert as_span(as_time(span)) == span
    assert as_time(timedelta(days=2, seconds=1800)) == qty("48.5", "h")


@pytest.mark.parametrize(("value", "places", "expected", "source"), [
    ("1.243", 1, "1.2", "openstax-pharmacology 2.4"), ("1.251", 1, "1.3", "openstax-pharmacology 2.4"),
    ("75.4", 0, "75", "manitoba-3530 reminders"), ("43.5", 0, "44", "manitoba-3530 reminders"),
    ("0.728", 2, "0.73", "missouri-rounding"), ("5.412", 1, "5.4", "missouri-rounding"),
    ("62.5", 0, "63", "army-md0904 page 2-55: not to the even number"), ("12.5", 0, "13", "pharm-math-slides slide 2"),
    ("-0.5", 0, "-1", "away from zero"),
])
def test_halves_go_up(value: str, places: int, expected: str, source: str) -> None:
    assert half_up(Decimal(value), places) == Decimal(expected), source


@pytest.mark.parametrize(("amount", "expected"), [
    ("9.94 mL", "9.9 mL"), ("9.95 mL", "10 mL"), ("10.4 mL", "10 mL"), ("10.5 mL", "11 mL"), ("1920 mL", "1920 mL"),
    ("5.0 mL", "5 mL"), ("0.25 mL", "0.3 mL"), ("109.2857 mL/h", "109 mL/h"), ("7.8 mL/h", "7.8 mL/h"),
    ("0.676 kcal/mL", "0.68 kcal/mL"), ("1.20 kcal/mL", "1.2 kcal/mL"), ("38.5 degC", "38.5 degC"),
    ("62.5 drop/min", "63 drop/min"), ("2161.6 kcal", "2162 kcal"), ("49.89 kg", "49.9 kg"),
    ("2160 kcal", "2160 kcal"), ("39.5 drop/min", "40 drop/min"), ("10 mL", "10 mL"), ("37.04 degC", "37 degC"),
    ("-9.96 mL", "-10 mL"),
])
def test_amounts_are_shown_whole_from_ten_and_with_one_decimal_below(amount: str, expected: str) -> None:
    found = shown(parse(amount))
    assert (found.magnitude, found.units) == (parse(expected).magnitude, parse(expected).units)
    assert str(found.magnitude) == expected.split()[0], "no zero after the point"


def test_counts_are_rounded_the_safe_way() -> None:
    assert whole_up(parse("23.25 1")) == 24, "cms-enteral-units: always up"
    assert whole_up(parse("4 1")) == 4
    assert whole_down(parse("14.99 1")) == 14
    assert whole(parse("41.67 drop/min")) == parse("42 drop/min")


def test_a_rate_is_rounded_to_what_the_pump_can_be_set_to() -> None:
    assert to_step(parse("109.2857 mL/h"), parse("1 mL/h")) == parse("109 mL/h")
    assert to_step(parse("82.5 mL/h"), parse("5 mL/h")) == parse("85 mL/h")
    assert to_step(parse("7.84 mL/h"), parse("0.1 mL/h")) == parse("7.8 mL/h")


def test_a_finish_is_never_shown_later_than_it_is() -> None:
    at = datetime(2026, 11, 25, 5, 59, 59, 999999, tzinfo=UTC)
    assert minute(at) == datetime(2026, 11, 25, 5, 59, tzinfo=UTC)
    assert minute(at) <= at
    assert to_minutes(parse("0.508 h")) == 30 and to_minutes(parse("0.5084 h")) == 31
