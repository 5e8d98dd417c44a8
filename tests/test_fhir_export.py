"""`bagside export --fhir`: what was given, as NutritionIntake (R5) or Observation (R4), by HL7's own definitions.

The night of tests/night.py, by hand: 72 mL/h from 20:45 to 22:45 is 144 mL, a pause to 23:15, and half an hour more at
72 mL/h is 36 mL: 180 mL at 23:45. Halifax is four hours behind UTC in November.
"""

from __future__ import annotations

import importlib
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from night import a_night, say

from assistant.cli import main
from assistant.fhir.units import UCUM
from assistant.household.home import Home

Capture = pytest.CaptureFixture[str]
#: codes of UCUM that may be written (UCUM specification, https://ucum.org/ucum: L and h are units, m is milli)
UCUM_CODES = {"mL", "mL/h"}
MODELS = {"R5": "fhir.resources.bundle", "R4": "fhir.resources.R4B.bundle"}     # R4 is read as R4B


def exported(home: Home, tmp_path: Path, release: str, now: str = "2026-11-25T23:45", *more: str) -> dict[str, Any]:
    file = tmp_path / f"{release}.json"
    assert main(["export", "--fhir", release, "--now", now, "--home", str(home.folder), *more, str(file)]) == 0
    found: dict[str, Any] = json.loads(file.read_text(encoding="utf-8"))
    return found


def resources(bundle: dict[str, Any]) -> list[dict[str, Any]]:
    return [entry["resource"] for entry in bundle.get("entry", [])]


@pytest.mark.parametrize("release", ["R4", "R5"])
@pytest.mark.parametrize("now", ["2026-11-25T23:45", "2026-11-27T12:00", "2026-11-20T12:00"])
def test_the_bundle_is_whole_by_the_reference_models(records: Home, tmp_path: Path, release: str, now: str) -> None:
    """Running, ended long ago, and before anything was written down."""
    models = pytest.importorskip(MODELS[release], reason="the extra [fhir] is not installed")
    a_night(records)
    bundle = exported(records, tmp_path, release, now)
    models.Bundle.model_validate(bundle)
    for resource in resources(bundle):
        kind = resource["resourceType"]
        module = importlib.import_module(f"{MODELS[release].rpartition('.')[0]}.{kind.lower()}")
        getattr(module, kind).model_validate(resource)


def test_amounts_and_times_by_hand(records: Home, tmp_path: Path) -> None:
    a_night(records)
    feed, flush = resources(exported(records, tmp_path, "R5"))
    assert feed["status"] == "in-progress" and feed["occurrencePeriod"] == {"start": "2026-11-25T20:45:00-04:00"}
    assert feed["consumedItem"][0]["amount"] == {"value": 180, "unit": "mL", "system": UCUM, "code": "mL"}
    assert feed["consumedItem"][0]["rate"]["value"] == 72
    assert flush["status"] == "completed" and flush["occurrenceDateTime"] == "2026-11-25T23:20:00-04:00"
    assert flush["consumedItem"][0]["amount"]["value"] == 20
    as_r4 = resources(exported(records, tmp_path, "R4"))
    assert [(o["status"], o["valueQuantity"]["value"]) for o in as_r4] == [("preliminary", 180), ("final", 20)]


def test_an_amount_that_nobody_knows_is_said_to_be_unknown(records: Home, tmp_path: Path) -> None:
    a_night(records)
    at = datetime(2026, 11, 26, 3, 40, tzinfo=UTC)
    records.store().add_event(at=at, kind="flushed", recorded_at=at)
    at = datetime(2026, 11, 26, 3, 42, tzinfo=UTC)          # 23:42 in Halifax: changed, and nobody said to what
    records.store().add_event(at=at, kind="rate_changed", recorded_at=at)
    for release, value in (("R4", "valueQuantity"), ("R5", "amount")):
        found = resources(exported(records, tmp_path, release))
        held = [one if release == "R4" else one["consumedItem"][0] for one in found]
        assert [value in one for one in held] == [False, True, False]
        assert ["not known" in one["note"][0]["text"] for one in found] == [True, False, True]
        assert release == "R5" or [("dataAbsentReason" in one) for one in found] == [True, False, True]


def test_only_units_of_ucum_and_of_our_list_are_written(records: Home, tmp_path: Path) -> None:
    a_night(records)

    def quantities(value: Any) -> list[dict[str, Any]]:
        if isinstance(value, dict):
            own = [value] if "code" in value and "value" in value else []
            return own + [found for inner in value.values() for found in quantities(inner)]
        return [found for inner in value for found in quantities(inner)] if isinstance(value, list) else []

    for release in MODELS:
        found = quantities(exported(records, tmp_path, release))
        assert found and {one["code"] for one in found} <= UCUM_CODES and {one["system"] for one in found} == {UCUM}


def test_what_was_taken_back_is_not_in_it_and_ids_stay(records: Home, tmp_path: Path) -> None:
    session = a_night(records)
    before = exported(records, tmp_path, "R4")
    assert [r["id"] for r in resources(exported(records, tmp_path, "R5"))] == [r["id"] for r in resources(before)]
    where = ["--home", str(records.folder)]
    assert main(["log", "correct", "4", "--volume", "30 mL", *where]) == 0
    say(session, "25T23:46", "undo")
    after = resources(exported(records, tmp_path, "R4"))
    assert [one["valueQuantity"]["value"] for one in after if "flush" in one["code"]["text"].lower()] == [30]


def test_no_name_goes_out_unless_a_reference_is_given(records: Home, tmp_path: Path) -> None:
    a_night(records)
    text = json.dumps(exported(records, tmp_path, "R5"))
    assert "Juniper" not in text and str(records.folder) not in text
    named = resources(exported(records, tmp_path, "R5", "2026-11-25T23:45", "--subject", "Patient/12"))
    assert {one["subject"]["reference"] for one in named} == {"Patient/12"}


@pytest.mark.parametrize("argv", [["--fhir", "R3"], ["--fhir", "R5", "--days", "0"], ["--fhir", "R5", "--days", "9"],
                                  ["--fhir", "R5", "--subject", "http://x y"], ["--fhir", "R5", "--json"],
                                  ["--days", "3"], ["--now", "2026-11-25T23:45"], ["--subject", "Patient/12"],
                                  ["--calendar", "other.ics"], ["--rasa", "folder"]])
def test_wrong_usage_gives_two_and_writes_nothing(records: Home, tmp_path: Path, argv: list[str]) -> None:
    a_night(records)
    file = tmp_path / "out.json"
    assert main(["export", *argv, "--home", str(records.folder), str(file)]) == 2 and not file.exists()
