"""Published figures, the hang limit that counts, and the checker of the whole library."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from knowledge import library
from rules import figures
from rules.hang_limit import clock_start, hang_limit
from rules.outcome import CannotAnswer
from rules.quantity import number, parse, qty

#: the files of figures that calculators rest on
OURS = ("hang_time", "storage", "free_water", "drop_factor", "household")
AT = datetime(2026, 11, 25, 21, tzinfo=UTC)

#: form, infant, weak immunity, the plan's limit, the limit that counts, what is remarked
HANG = [
    ("closed_bag", False, False, None, "24 h", "published_limit_used"),
    ("closed_bag", True, True, None, "24 h", "published_limit_used"),
    ("closed_bag", False, False, "48 h", "24 h", "plan_limit_too_long"),
    ("sterile_liquid", False, False, None, "8 h", "published_limit_used"),
    ("sterile_liquid", True, False, None, "4 h", "published_limit_used"),
    ("sterile_liquid", False, True, None, "4 h", "published_limit_used"),
    ("sterile_liquid", True, False, "8 h", "4 h", "plan_limit_too_long"),
    ("sterile_liquid", False, False, "12 h", "8 h", "plan_limit_too_long"),
    ("sterile_liquid", False, False, "8 h", "8 h", "plan_limit_used"),
    ("sterile_liquid", False, False, "6 h", "6 h", "plan_limit_used"),
    ("powder", False, False, None, "4 h", "published_limit_used"),
    ("powder", True, False, None, "2 h", "infant_powder_limit"),
    ("powder", True, False, "4 h", "4 h", "plan_limit_used"),
    ("powder", True, False, "3 h", "3 h", "plan_limit_used"),
    ("powder", True, False, "6 h", "4 h", "plan_limit_too_long"),
    ("human_milk", True, False, None, "4 h", "published_limit_used"),
    ("fortified_milk", True, False, None, "4 h", "published_limit_used"),
    ("home_blend", False, False, None, "2 h", "published_limit_used"),
    ("home_blend", False, False, "4 h", "2 h", "plan_limit_too_long"),
]


@pytest.mark.parametrize(("form", "infant", "weak", "plan", "expected", "remark"), HANG)
def test_the_stricter_hang_limit_counts(
    form: str, infant: bool, weak: bool, plan: str | None, expected: str, remark: str
) -> None:
    found = hang_limit(form, infant, weak, None if plan is None else parse(plan))
    assert found.limit == parse(expected)
    assert remark in found.remarks
    assert set(found.sources) <= set(library.sources()) and found.place


def test_without_a_form_there_is_no_limit() -> None:
    with pytest.raises(CannotAnswer) as refusal:
        hang_limit(None, plan_limit=parse("8 h"))
    assert (refusal.value.code, refusal.value.facts["name"]) == ("missing", "form")
    with pytest.raises(CannotAnswer) as refusal:
        hang_limit("soup")
    assert refusal.value.code == "no_figure"


def test_the_hang_clock_starts_with_the_earliest_event() -> None:
    later = AT.replace(hour=22)
    assert clock_start({"poured": later, "mixed": AT}) == (AT, "mixed")
    assert clock_start({"poured": AT, "feed_started": later}) == (AT, "poured")
    assert clock_start({"feed_started": later}) == (later, "feed_started")
    with pytest.raises(CannotAnswer):
        clock_start({})


@pytest.mark.parametrize(("energy", "water"), [
    ("1 kcal/mL", "84"), ("1.1 kcal/mL", "82.5"), ("1.2 kcal/mL", "81"), ("1.5 kcal/mL", "76"), ("1.75 kcal/mL", "73"),
    ("2 kcal/mL", "70"),
])
def test_free_water_lies_on_straight_lines(energy: str, water: str) -> None:
    found = figures.free_water(parse(energy))
    assert number(found.value, "%") == parse(water + " %").magnitude
    assert found.confirmed == "memory", "the table has not been seen: say so"


@pytest.mark.parametrize("energy", ["0.999 kcal/mL", "2.001 kcal/mL", "20 kcal/floz_us"])
def test_free_water_outside_the_table_is_refused(energy: str) -> None:
    with pytest.raises(CannotAnswer) as refusal:
        figures.free_water(parse(energy))
    assert refusal.value.code == "no_figure"


def test_storage_figures() -> None:
    assert figures.opened_container().value == qty(24, "h")
    assert figures.feeding_set().value == qty(24, "h")
    assert [number(factor, "drop/mL") for factor in figures.drop_factors()] == [10, 12, 15, 20, 60]


def test_the_part_of_the_library_that_sums_rest_on_has_no_fault() -> None:
    ours = (*(f"figures/{name}.toml" for name in OURS), "limits/", "sources.toml")
    assert [str(fault) for fault in library.check() if fault.file.startswith(ours)] == []


def test_all_faults_are_reported_at_once(tmp_path: Path) -> None:
    shutil.copytree(library.FOLDER / "limits", tmp_path / "limits")
    (tmp_path / "figures").mkdir()
    for name in OURS:
        shutil.copy(library.FOLDER / "figures" / f"{name}.toml", tmp_path / "figures")
    shutil.copy(library.FOLDER / "sources.toml", tmp_path)
    assert library.check(tmp_path) == ()
    limits = tmp_path / "limits" / "pour.toml"
    limits.write_text(limits.read_text().replace("possible = [0.5, 48]", "possible = [48, 0.5]") + "[x]\nunti = 1\n")
    figure = tmp_path / "figures" / "storage.toml"
    figure.write_text(figure.read_text().replace('"aspen-handbook-2024"', '"aspen-hanbook-2024"'))
    found = [str(fault) for fault in library.check(tmp_path)]
    assert any("limits/pour.toml, hang_limit.possible" in fault for fault in found)
    assert any("limits/pour.toml, x.unti" in fault for fault in found)
    assert any("x.possible: is missing" in fault for fault in found)
    assert any('did you mean "aspen-handbook-2024"?' in fault for fault in found)
    (tmp_path / "limits" / "prime.toml").write_text("[priming\n")
    (tmp_path / "limits" / "mix.toml").write_bytes(b"\xff\xfe")
    assert {fault.file for fault in library.check(tmp_path)} == {"limits/prime.toml", "limits/mix.toml"}


def test_two_sources_files_may_not_disagree(tmp_path: Path) -> None:
    entry = '[one]\ntitle = "A"\npublisher = "B"\nyear = "2020"\n'
    (tmp_path / "sources.toml").write_text(entry)
    (tmp_path / "sources_more.toml").write_text(entry)
    assert library.check(tmp_path) == ()
    (tmp_path / "sources_more.toml").write_text(entry.replace("2020", "2021"))
    assert [fault.key for fault in library.check(tmp_path)] == ["one"]


def test_the_library_is_frozen_and_exact() -> None:
    limits = library.load("limits")
    with pytest.raises(TypeError):
        limits["pour"] = {}                          # type: ignore[index]
    with pytest.raises(TypeError):
        limits["pour"]["rate"]["unit"] = "L/h"       # type: ignore[index]
    assert str(limits["pour"]["rate"]["possible"][0]) == "0.1"
