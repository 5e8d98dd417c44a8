"""Laws of what the order allows: whose a rate is, catching up, settings that match only themselves, slips."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from laws import amounts, instants, near, quick, rates, times, volumes

from rules.calculators import calculator
from rules.clock import later
from rules.limits import possible
from rules.order import against_order
from rules.quantity import Quantity, qty
from rules.slip import SLIPS, slip


@quick
@given(rates, rates, rates, rates, st.booleans())
def test_a_rate_is_the_familys_only_inside_both_limits(
    rate: Quantity, one: Quantity, other: Quantity, ordered: Quantity, may: bool
) -> None:
    low, high = min(one, other), max(one, other)
    found = calculator("change_rate")(rate=rate, lowest=low, highest=high, ordered=ordered, family_may_change=may)
    inside = low <= rate <= high
    assert found.figures["within_plan"].value is inside
    assert found.defers is not (inside and (may or rate == ordered))


@quick
@given(volumes, volumes, rates, rates, instants, times, st.booleans(), st.booleans())
def test_catch_up_never_asks_for_more_than_the_order_allows(
    one: Quantity, other: Quantity, rate: Quantity, highest: Quantity, now: datetime, window: Quantity,
    allowed: bool, capped: bool,
) -> None:
    planned, part = max(one, other), min(one, other)
    cap = highest if capped else None
    found = calculator("catch_up")(planned=planned, given=part, rate=rate, now=now, until=later(now, window),
                                   highest=cap, allowed=allowed)
    shortfall = found.figures["shortfall"].value
    assert shortfall + part == planned
    if not allowed:
        assert "rate" not in found.figures and found.defers is (shortfall > qty(0, "mL"))
        return
    if "rate" in found.figures:
        raised = found.figures["rate"].value
        assert cap is not None and rate < raised <= cap
        missing = found.facts["stays_missing"]
        assert near((raised * window).to("mL") + missing, shortfall, Decimal("1e-6"))
    assert found.defers is any(remark.startswith("rest_missing") for remark in found.remarks)


@quick
@given(rates, rates)
def test_settings_match_only_themselves(entered: Quantity, planned: Quantity) -> None:
    found = calculator("check_settings")(rate=entered, plan_rate=planned)
    assert found.figures["matches"].value is (entered == planned)
    assert near((found.figures["factor"].value * planned).to("mL/h"), entered)
    assert (found.facts["slip"] is None) is (found.facts["which"] is None) is (entered == planned)
    assert found.facts["slip"] in {None, *SLIPS}


@quick
@given(amounts("1", "60", "mL/h", 0))
def test_a_slip_is_seen_from_both_sides(planned: Quantity) -> None:
    assert slip(planned, planned) is None
    assert slip(planned * 10, planned) == "tenfold" and slip(planned, planned * 10) == "tenth"
    assert slip(planned * 100, planned) == "hundredfold" and slip(planned, planned * 100) == "hundredth"


@pytest.mark.parametrize(("entered", "planned", "code"), [
    ("58", "85", "digit_swap"), ("5.8", "8.5", "digit_swap"), ("84", "85", None), ("850", "85", "tenfold"),
    ("8.5", "85", "tenth"), ("90", "85", None), ("120", "102", "digit_swap"), ("85.0", "85", None),
    ("5.08", "80.5", None), ("805", "850", "digit_swap"), ("0.58", "0.85", "digit_swap"), ("58.0", "85", "digit_swap"),
    ("100", "10", "tenfold"), ("101", "110", "digit_swap"), ("8500", "85", "hundredfold"), ("0.85", "85", "hundredth"),
])
def test_slips_of_a_rate(entered: str, planned: str, code: str | None) -> None:
    assert slip(qty(entered, "mL/h"), qty(planned, "mL/h")) == code


def test_a_slip_needs_no_plan_to_be_impossible() -> None:
    assert calculator("check_settings")(rate=qty(5000, "mL/h")).working == (("matches", False),)
    assert slip(qty(5000, "mL/h"), None) == "impossible"
    assert slip(qty(0, "mL"), None) == "impossible"
    assert slip(qty(85, "mL/h"), None) is None
    assert slip(qty("1.3", "L/h"), None, kit_highest=qty(300, "mL/h")) == "above_kit"
    assert slip(qty(765, "mL/h"), qty(85, "mL/h"), other=qty(765, "mL")) == "swapped"


@pytest.mark.parametrize(("rate", "lowest", "highest", "ordered", "may", "within", "defers", "remarks"), [
    ("80", None, None, None, False, None, False, ()),
    ("80", None, None, "80", False, True, False, ("same_as_ordered",)),
    ("90", None, None, "80", True, False, True, ("no_limits_in_plan", "differs_from_order")),
    ("90", "60", None, "80", True, True, True, ("differs_from_order",)),       # one limit gives the family no choice
    ("90", None, "95", "80", True, True, True, ("differs_from_order",)),
    ("96", None, "95", None, True, False, True, ("outside_plan_limits",)),
    ("59", "60", None, None, True, False, True, ("outside_plan_limits",)),
    ("60", "60", "95", "80", True, True, False, ()),                           # both ends are inside
    ("95", "60", "95", "80", True, True, False, ()),
    ("90", "60", "95", "80", False, True, True, ("differs_from_order",)),
    ("90", "60", "95", None, False, True, False, ()),
])
def test_how_a_rate_stands_to_the_order(
    rate: str, lowest: str | None, highest: str | None, ordered: str | None, may: bool, within: bool | None,
    defers: bool, remarks: tuple[str, ...],
) -> None:
    low, high, plan = (qty(text, "mL/h") if text else None for text in (lowest, highest, ordered))
    found = against_order(qty(rate, "mL/h"), low, high, plan, may)
    assert (found.within_plan, found.defers, found.remarks) == (within, defers, remarks)


def test_the_other_value_of_the_plan_comes_before_swapped_digits_and_after_ten_times() -> None:
    assert slip(qty(58, "mL/h"), qty(85, "mL/h"), other=qty(58, "mL")) == "swapped"
    assert slip(qty(850, "mL/h"), qty(85, "mL/h"), other=qty(850, "mL")) == "tenfold"
    assert slip(qty(85, "mL"), qty(765, "mL"), other=qty(85, "mL/h")) == "swapped"


@pytest.mark.parametrize(("name", "unit"), [("rate", "mL/h"), ("volume", "mL")])
def test_both_ends_of_what_is_possible_are_inside(name: str, unit: str) -> None:
    low, high = possible("check_settings", name)
    assert slip(low, None) is None and slip(high, None) is None
    assert slip(low - qty("0.001", unit), None) == "impossible" and slip(high * 2, None) == "impossible"
