"""A published figure that is superseded stays in the files and counts on the days it was in force. Invented."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from rules import figures
from rules.outcome import CannotAnswer
from rules.quantity import parse, qty

LAST, FIRST = date(2026, 3, 31), date(2026, 4, 1)       # the old edition's last day, the new one's first


def editions(**fields: tuple[Any, Any]) -> dict[str, list[dict[str, Any]]]:
    """One entry as it was and as it is: each field with its old and its new value."""
    both = [{"source": source, "place": "page 1", "confirmed": "read", "applies_to": "all ages",
             **{name: pair[at] for name, pair in fields.items()}} for at, source in enumerate(("old", "new"))]
    return {"figure": [{**both[0], "until": LAST}, {**both[1], "from": FIRST}]}


LIBRARY = {
    "hang_time": editions(form=("soup", "soup"), limit=("8 h", "6 h")),
    "storage": {"figure": [*editions(name=("opened_container",) * 2, limit=("48 h", "24 h"))["figure"],
                           *editions(name=("feeding_set",) * 2, limit=("72 h", "12 h"))["figure"]]},
    "drop_factor": editions(drops=(["10 drop/mL"], ["15 drop/mL", "20 drop/mL"])),
    "free_water": {"figure": [
        *editions(energy=("1 kcal/mL",) * 2, water=("80 %", "84 %"))["figure"],
        *editions(energy=("2 kcal/mL",) * 2, water=("60 %", "70 %"))["figure"]]},
}


@pytest.fixture(autouse=True)
def invented(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(figures, "load", {"figures": LIBRARY}.__getitem__)


@pytest.mark.parametrize(("figure", "old", "new"), [
    (lambda on: figures.hang_time("soup", on=on), "8 h", "6 h"),
    (lambda on: figures.opened_container(on), "48 h", "24 h"),
    (lambda on: figures.feeding_set(on), "72 h", "12 h"),
    (lambda on: figures.free_water(parse("1.5 kcal/mL"), on), "70 %", "77 %"),      # half way between the rows
])
def test_each_day_has_its_own_edition(figure: Callable[..., figures.Published], old: str, new: str) -> None:
    for on, limit, source in ((date(2020, 1, 1), old, "old"), (LAST, old, "old"), (FIRST, new, "new"),
                              (date(2030, 1, 1), new, "new"), (None, new, "new")):
        found = figure(on)
        assert (found.value, found.source) == (parse(limit), source)
        assert (found.place, found.confirmed, found.applies_to) == ("page 1", "read", "all ages")


def test_drop_factors_of_the_day() -> None:
    assert figures.drop_factors(LAST) == (qty(10, "drop/mL"),)
    assert figures.drop_factors(FIRST) == figures.drop_factors() == (qty(15, "drop/mL"), qty(20, "drop/mL"))


def test_what_nobody_published_on_is_named() -> None:
    for form, who in (("stew", None), ("soup", "infant_without_plan_limit")):
        with pytest.raises(CannotAnswer) as refusal:
            figures.hang_time(form, who)
        assert (refusal.value.code, refusal.value.facts) == ("no_figure", {"name": "hang_time", "found": form})
    with pytest.raises(CannotAnswer) as refusal:
        figures.free_water(parse("2.1 kcal/mL"))
    assert refusal.value.code == "no_figure"
    assert refusal.value.facts == {"name": "free_water", "found": parse("2.1 kcal/mL"), "low": parse("1 kcal/mL"),
                                   "high": parse("2 kcal/mL")}


@pytest.mark.parametrize(("figure", "name"), [
    (figures.opened_container, "opened_container"), (figures.feeding_set, "feeding_set")])
def test_a_library_without_the_figure_refuses(
    figure: Callable[..., figures.Published], name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(figures, "load", {"figures": {"storage": {"figure": []}}}.__getitem__)
    with pytest.raises(CannotAnswer) as refusal:
        figure()
    assert (refusal.value.code, refusal.value.facts) == ("no_figure", {"name": name})
