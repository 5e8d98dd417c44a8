"""A care plan is read exactly, or refused with every fault at once; nothing is defaulted or mended."""

from __future__ import annotations

import dataclasses
import json
import re
import tomllib
from datetime import UTC, date, time
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan_texts import GOOD, SMALLEST, changed

from assistant.household import PlanFaults, read_plan, warnings
from assistant.household.plan_amounts import read_amount
from assistant.household.plan_faults import Wrong
from assistant.household.plan_keys import SECTIONS
from assistant.household.plan_reader import read_values
from assistant.household.plan_values import read_value
from assistant.household.plan_words import words
from assistant.household.plan_writer import toml_text
from rules.quantity import qty

DEMO = Path(__file__).parent.parent / "demo"
PLANS = sorted(DEMO.glob("*.toml"))

def test_four_keys_and_one_feed_are_enough() -> None:
    plan = read_plan(SMALLEST)
    assert plan.formula.energy == qty("1.1", "kcal/mL")
    assert plan.feeds[0].name == "feed 1"
    missing = (plan.units, plan.issued, plan.water_goal, plan.formula.free_water, plan.limits.catch_up)
    assert missing == (None,) * 5
    assert plan.limits.family_may_change_rate is None
    assert plan.path is None


def test_every_value_arrives_as_written() -> None:
    plan = read_plan(GOOD)
    night = plan.feed("NIGHT")
    assert night is not None and night.start == time(20, 0)
    assert (night.rate, night.volume, night.over) == (qty(70, "mL/h"), qty(700, "mL"), qty(10, "h"))
    assert plan.formula.free_water == Decimal("0.82")
    assert plan.formula.recipe is not None and plan.formula.recipe.scoop == qty(10, "g")
    assert plan.limits.catch_up is not None and plan.limits.catch_up.until == time(7, 0)
    assert plan.steps[0].start.astimezone(UTC).isoformat() == "2026-04-02T18:00:00+00:00"
    assert plan.jejunal
    assert night.rate is not None and isinstance(night.rate.magnitude, Decimal)


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_each_demo_plan_is_good_and_names_fictional_numbers(path: Path) -> None:
    plan = read_plan(path)
    assert plan.path == path
    for number in (plan.contacts.nurse_line, plan.contacts.supplier):
        assert number is not None and re.search(r"555[- ]01\d\d$", number)


def test_the_demo_households_differ() -> None:
    plans = [read_plan(path) for path in PLANS]
    assert len(plans) == 4
    assert len({plan.timezone.key for plan in plans}) == 4
    assert {plan.units for plan in plans} == {"us", "metric"}


@pytest.mark.parametrize("path", PLANS, ids=lambda path: path.stem)
def test_what_is_written_reads_back_the_same(path: Path) -> None:
    values = read_values(path.read_bytes(), "plan")
    text = toml_text(values)
    assert read_values(text, "plan") == values
    without_place = dataclasses.replace(read_plan(path), path=None)
    assert read_plan(text) == without_place


def test_a_mismatch_of_one_percent_is_a_rounded_rate() -> None:
    assert read_plan(changed('volume = "700 mL"', 'volume = "707 mL"')).feeds[0].volume == qty(707, "mL")


def test_an_offset_tells_the_two_times_apart() -> None:
    first, second = (read_plan(changed("2026-04-09T20:00:00", f"2026-10-25T02:30:00+0{hours}:00")).steps[1].start
                     for hours in (2, 1))
    assert second.timestamp() - first.timestamp() == 3600


@pytest.mark.parametrize(("said", "measure", "number", "unit"), [
    ("85mL/h", "rate", "85", "mL/h"), ("85 ml/hr", "rate", "85", "mL/h"), ("1.5 mL/min", "rate", "90.0", "mL/h"),
    ("1.5 L", "volume", "1500", "mL"), (".5 L", "volume", "500", "mL"), ("100 lb", "weight", "45.359237", "kg"),
    ("4200 g", "weight", "4.2", "kg"), ("20 drops/mL", "drop_factor", "20", "drop/mL"), ("7 days", "time", "7", "day"),
    ("2 weeks", "time", "14", "day"), ("45 min", "time", "45", "min"), ("67 kcal/100 mL", "energy", "0.67", "kcal/mL"),
    ("1.3 g/100 ml", "protein", "13", "g/L"), ("35 mm", "length", "3.5", "cm"), ("14 Fr", "french", "14", "Fr"),
])
def test_an_amount_is_read_exactly(said: str, measure: str, number: str, unit: str) -> None:
    amount = read_amount(said, measure)
    assert (amount.number, amount.unit) == (Decimal(number), unit)


def test_a_fluid_ounce_is_read_where_the_plan_says_us() -> None:
    plan = read_plan(SMALLEST.replace('route = "gastrostomy"', 'route = "gastrostomy"\nunits = "us"\n'
                                      'water_goal = "64 fl oz"').replace("1.1 kcal/mL", "30 kcal/fl oz"))
    assert plan.water_goal is not None and plan.water_goal.magnitude == Decimal("1892.705892")   # NIST: 29.5735295625
    assert abs(plan.formula.energy.magnitude * Decimal("29.5735295625") - 30) < Decimal("1e-20")


@pytest.mark.parametrize(("on", "group"), [
    (date(2026, 6, 20), "infant"), (date(2027, 6, 20), "infant"), (date(2027, 6, 21), "child"),
    (date(2044, 6, 20), "child"), (date(2044, 6, 21), "adult"),
])
def test_age_group_changes_on_the_birthday(on: date, group: str) -> None:
    person = read_plan(DEMO / "infant_powder.toml").person
    assert (person.age_group_on(on), person.is_infant(on)) == (group, group == "infant")


def test_an_age_that_nobody_wrote_is_unknown() -> None:
    assert read_plan(SMALLEST).person.age_group_on(date(2026, 1, 1)) is None


@pytest.mark.parametrize(("today", "codes"), [
    (date(2026, 3, 31), ("not_yet_issued",)), (date(2026, 4, 1), ()), (date(2026, 10, 1), ()),
    (date(2026, 10, 2), ("past_review",)),
])
def test_warnings_begin_the_day_after(today: date, codes: tuple[str, ...]) -> None:
    assert warnings(read_plan(GOOD), today) == codes


@given(st.text(max_size=30), st.sampled_from(["volume", "rate", "time", "weight", "percent"]))
def test_any_words_are_an_amount_or_a_refusal(said: str, measure: str) -> None:
    try:
        amount = read_amount(said, measure)
    except Wrong:
        return
    assert amount.number.is_finite()


VALUES = st.recursive(
    st.one_of(st.integers(-5, 5_000), st.booleans(), st.text(max_size=12), st.dates().map(str),
              st.sampled_from(["85 mL/h", "1.5 L", "9 h", "0 mL", "pump", "every 4 h", "21:00", "Europe/Oslo"])),
    lambda inner: st.lists(inner, max_size=3), max_leaves=4)
KEYS = st.sampled_from([(section, key) for section, keys in SECTIONS.items() if "." not in section for key in keys])


@given(st.dictionaries(KEYS, VALUES, max_size=8))
def test_any_values_are_a_plan_or_faults_with_a_sentence(table: dict[tuple[str, str], object]) -> None:
    top = "".join(f"{key} = {json.dumps(value)}\n" for (section, key), value in table.items() if not section)
    rest = "".join(f"\n[[{section}]]\n" if section in {"feeds", "steps"} else f"\n{section}.{key} = "
                   f"{json.dumps(value)}\n" for (section, key), value in table.items() if section)
    try:
        read_plan(f"{top}{rest}\n")
    except PlanFaults as faults:
        assert faults.faults and all(line and "\n" not in line for line in faults.lines())


def test_every_key_has_an_example_that_is_good() -> None:
    for section, keys in SECTIONS.items():
        for name, key in keys.items():
            path = f"{section}.{name}" if section else name
            raw = tomllib.loads(f"x = {words()['examples'][path]}", parse_float=Decimal)["x"]
            read_value(raw, key, path)
