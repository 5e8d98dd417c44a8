"""`bagside plan import`: HL7's own enteral examples, every place with two readings, and files that are no orders.

The examples and their licence: tests/fhir/README.md. What UCUM's codes mean: the UCUM specification (cal is the small
calorie, [foz_us] the US fluid ounce of 29.5735295625 mL, NIST Handbook 44, appendix C).
"""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from typing import Any

import pytest
from fhir_orders import EXAMPLES, RELEASES, A, F, Import, changed, example

from assistant.fhir.doubts import next_doubt
from assistant.fhir.order import read_order
from assistant.fhir.reading import parsed
from assistant.household import read_plan
from rules.quantity import qty


@pytest.mark.parametrize("release", RELEASES)
@pytest.mark.parametrize("name", ["enteralbolus", "enteralcontinuous", "infantenteral"])
def test_the_examples_are_whole_by_the_reference_models(release: str, name: str) -> None:
    """Checked by fhir.resources, whose classes are made from HL7's own definitions (R4 is read as R4B)."""
    models = pytest.importorskip("fhir.resources.R4B.nutritionorder" if release != "r5" else
                                 "fhir.resources.nutritionorder", reason="the extra [fhir] is not installed")
    models.NutritionOrder.model_validate_json((EXAMPLES / release / f"{name}.json").read_bytes())


def questions(order: dict[str, Any], **given: Any) -> list[str]:
    """The codes of all questions that come when every one is answered with its first choice, or as given."""
    from zoneinfo import ZoneInfo

    read, answers, asked = read_order(parsed(json.dumps(order).encode())), {}, []
    while (doubt := next_doubt(read, answers)) is not None:
        asked.append(doubt.code)
        typed = {"timezone": ZoneInfo("America/Chicago"), "over": "30 min"}.get(doubt.code)
        answers[doubt.key] = given.get(doubt.key, doubt.choices[0].value if doubt.choices else typed)
    return asked


@pytest.mark.parametrize("release", RELEASES)
@pytest.mark.parametrize(("name", "asked"), [
    ("enteralbolus", ["timezone", "energy_small", "additive", "times", "method", "over", "words"]),
    ("enteralcontinuous", ["timezone", "energy_small_differs", "pattern", "times", "method_rate", "end",
                           "words_beyond"]),
    ("infantenteral", ["timezone", "route_mouth", "energy_small_differs", "additive", "first_start", "method", "over",
                       "most_without_time", "words_beyond"]),
])
def test_each_example_raises_its_questions(release: str, name: str, asked: list[str]) -> None:
    assert questions(example(release, name)) == asked


@pytest.mark.parametrize("release", RELEASES)
def test_a_bolus_order_becomes_six_feeds(release: str, imported: Import) -> None:
    """240 mL each 4 h: 24 h / 4 h = 6 feeds, 6 x 240 mL = 1440 mL, which is the order's own most in a day."""
    assert imported(example(release, "enteralbolus"), "America/Chicago", "1", "1", "1", "3", "1") == 0
    plan = read_plan(imported.plan)
    assert (plan.route, plan.timezone.key, plan.formula.energy) == ("gastrostomy", "America/Chicago",
                                                                   qty("1.5", "kcal/mL"))
    assert [f"{feed.start:%H:%M}" for feed in plan.feeds] == ["16:00", "20:00", "00:00", "04:00", "08:00", "12:00"]
    assert {(feed.method, feed.volume, feed.rate) for feed in plan.feeds} == {("syringe", qty("240", "mL"), None)}
    head = imported.plan.read_text(encoding="utf-8").split("route =")[0]
    for held in ("2014-09-17; a plan has no key", "1440 milliliter/day", "Lipid", "240 mls every 4hrs"):
        assert held in head


def test_the_same_instant_is_another_hour_in_the_zone(imported: Import) -> None:
    """16:00 UTC on 17 September 2014 is 11:00 in Chicago (UTC-5 in summer)."""
    assert imported(example("r5", "enteralbolus"), "America/Chicago", "1", "1", "2", "3", "1") == 0
    assert f"{read_plan(imported.plan).feeds[0].start:%H:%M}" == "11:00"


def test_in_the_zone_of_its_own_offset_the_hours_are_not_asked_about() -> None:
    order = json.loads(json.dumps(example("r5", "enteralbolus")).replace("16:00:00Z", "16:00:00-05:00"))
    assert "times" not in questions(order)


def test_rates_without_an_end_as_steps_or_as_a_day(imported: Import) -> None:
    """As a day: 60 x 4 h + 80 x 4 h = 560 mL, so 880 - 560 = 320 mL are left for the last rate."""
    order = example("r4b", "enteralcontinuous")
    assert imported(order, "America/Chicago", "1", "2", "1", "1", "1", "1") == 0
    feeds = read_plan(imported.plan).feeds
    assert [(f"{feed.start:%H:%M}", feed.rate, feed.over, feed.volume) for feed in feeds] == [
        ("07:00", qty("60", "mL/h"), qty("240", "min"), None), ("11:00", qty("80", "mL/h"), qty("240", "min"), None),
        ("15:00", qty("100", "mL/h"), None, qty("320", "mL"))]
    imported.plan.unlink()
    assert imported(order, "America/Chicago", "2", "1", "1", "1", "2", "1") == 0
    plan = read_plan(imported.plan)
    assert plan.formula.energy == qty("1.5", "kcal/mL")
    assert [(f"{step.start:%Y-%m-%d %H:%M}", step.rate) for step in plan.steps] == [
        ("2014-09-17 07:00", qty("60", "mL/h")), ("2014-09-17 11:00", qty("80", "mL/h")),
        ("2014-09-17 15:00", qty("100", "mL/h"))]
    assert [(feed.rate, feed.volume) for feed in plan.feeds] == [(qty("100", "mL/h"), None)]


def test_ounces_stay_ounces_and_by_mouth_is_no_tube(imported: Import) -> None:
    """The infant's order: 4 fl oz each 3 h from a day without an hour; its words name 24 and 27, its code 20."""
    order = example("r5", "infantenteral")
    answers = ("America/Chicago", "3", "3", "1", "06:30", "2", "1", "1")
    assert imported(order, *answers) == 0
    plan = read_plan(imported.plan)
    assert (plan.route, plan.units, len(plan.feeds)) == ("gastrostomy", "us", 8)
    assert "27 kcal/fl oz" in imported.plan.read_text(encoding="utf-8")
    assert plan.feeds[0].volume == qty("118.29411825", "mL")          # 4 x 29.5735295625
    imported.plan.unlink()
    assert imported(order, "America/Chicago", "6") == 2 and not imported.plan.exists()


@pytest.mark.parametrize("name", ["enteralbolus", "enteralcontinuous", "infantenteral"])
def test_yes_answers_no_question(name: str, imported: Import) -> None:
    """Without answers nothing is written, however far the answers went."""
    good = {"enteralbolus": ("America/Chicago", "1", "1", "1", "3", "1"),
            "enteralcontinuous": ("America/Chicago", "1", "1", "1", "1", "1", "1"),
            "infantenteral": ("America/Chicago", "3", "1", "1", "06:30", "2", "1", "1")}[name]
    for so_far in range(len(good)):
        assert imported(example("r5", name), *good[:so_far]) == 2 and not imported.plan.exists()
    assert imported(example("r5", name), *good) == 0


def test_without_yes_it_asks_before_writing_and_never_over_a_file_unasked(imported: Import) -> None:
    answers = ("America/Chicago", "1", "1", "1", "3", "1")
    assert imported(example("r4", "enteralbolus"), *answers, "no", yes=False) == 2 and not imported.plan.exists()
    imported.plan.write_text("mine")
    assert imported(example("r4", "enteralbolus"), *answers, "no") == 2
    assert imported.plan.read_text() == "mine"
    assert imported(example("r4", "enteralbolus"), *answers, "yes") == 0


def objects(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    if isinstance(value, dict):
        yield path
    for key, inner in (value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list)
                       else ()):
        yield from objects(inner, (*path, key))


@pytest.mark.parametrize("release", ["r4", "r5"])
@pytest.mark.parametrize("name", ["enteralbolus", "enteralcontinuous", "infantenteral"])
def test_nothing_in_an_order_is_passed_over(release: str, name: str, imported: Import) -> None:
    """An entry that nobody knows, in any place: it is shown, or it stops the import by its place."""
    whole = example(release, name)
    for path in objects(whole):
        order = copy.deepcopy(whole)
        place = order
        for step in path:
            place = place[step]
        place["oddity"] = "zzz"
        assert imported(order) == 2
        assert "zzz" in imported.out, path


@pytest.mark.parametrize(("path", "to", "asked"), [
    ((*A, "quantity", "unit"), "L", "unit_differs"),
    ((*A, "quantity", "unit"), "mL/kg", "unit_text"),
    ((*A, "quantity", "code"), None, "unit_text"),
    ((F, "routeofAdministration", "coding", 0, "code"), "EFT", "route_unclear"),
    ((F, "routeofAdministration", "coding", 0, "code"), "NGT", "route_differs"),
    ((F, "routeofAdministration", "coding", 0, "code"), "PO", "route_mouth"),
    ((F, "routeofAdministration", "text"), "by jejunostomy", "route_differs"),
    ((F, "caloricDensity", "unit"), "kcal/L", "energy_small"),
    ((F, "baseFormulaProductName"), "a 2 kcal/mL formula", "energy_small_differs"),
    ((F, "administrationInstruction"), "250 mls every 4hrs", "words_beyond"),
    ((F, "administrationInstruction"), "240 mls every 4hrs, hold at 22:00", "words_beyond"),
    ((F, "caloricDensity"), None, "energy_missing"),
])
def test_each_place_with_two_readings_is_asked_about(path: tuple[Any, ...], to: Any, asked: str) -> None:
    order = changed(example("r4", "enteralbolus"), *path, to=to)
    if path[-1] == "code" and to is None:
        del order[F]["administration"][0]["quantity"]["system"]
    assert asked in questions(order, **({"energy": "1.2 kcal/mL"} if asked == "energy_missing" else {}))


def test_an_energy_in_kilocalories_is_not_asked_about() -> None:
    order = changed(example("r4", "enteralbolus"), F, "caloricDensity",
                    to={"value": 1.5, "unit": "kcal/mL", "system": "http://unitsofmeasure.org", "code": "kcal/mL"})
    assert not any(code.startswith("energy") for code in questions(order))
    order[F]["administrationInstruction"] = "240 mls every 4hrs of 1.5 kcal/mL formula"
    assert questions(order)[-1] == "words"
    order[F]["administrationInstruction"] = "240 mls every 4hrs of 2 kcal/mL formula"
    assert "energy_differs" in questions(order) and questions(order)[-1] == "words_beyond"


def test_a_rate_as_a_ratio_is_the_same_rate(imported: Import) -> None:
    """150 mL over 120 min is 75 mL/h."""
    order = example("r5", "enteralcontinuous")
    feed = order[F]["administration"][0]
    del order[F]["administration"][1:], feed["rateQuantity"]
    ucum = "http://unitsofmeasure.org"
    feed["rateRatio"] = {"numerator": {"value": 150, "system": ucum, "code": "mL"},
                         "denominator": {"value": 120, "system": ucum, "code": "min"}}
    assert imported(order, "Europe/Oslo", "1", "1", "1", "1", "1") == 0
    assert [feed.rate for feed in read_plan(imported.plan).feeds] == [qty("75", "mL/h")]


def test_times_of_day_and_a_length_are_taken_as_they_stand(imported: Import) -> None:
    order = example("r5", "enteralbolus")
    order[F]["administration"][0]["schedule"]["timing"][0]["repeat"] = {
        "timeOfDay": ["08:00:00", "13:30:00"], "duration": 0.5, "durationUnit": "h"}
    assert imported(order, "Europe/Oslo", "1", "1", "1", "1") == 0, imported.out
    assert [(f"{feed.start:%H:%M}", feed.method, feed.over) for feed in read_plan(imported.plan).feeds] == [
        ("08:00", "pump", qty("30", "min")), ("13:30", "pump", qty("30", "min"))]
