"""What a calculator gives is what its docstring promises, in every worked example: names, kinds, codes, sources."""

from __future__ import annotations

import inspect
import re
from datetime import date, datetime
from functools import cache
from typing import Any

import pytest
from test_worked_examples import EXAMPLES, taken

from knowledge.library import sources, table
from rules.calculators import calculator, names
from rules.outcome import CannotAnswer, Figure, need
from rules.quantity import is_amount

NAME = re.compile(r"[a-z][a-z0-9_]*")
SLIPS = frozenset({"tenfold", "tenth", "digit_swap", "swapped", "above_kit", "impossible", "other"})
#: named in a refusal, no argument itself; `delivered` is the sum of what was given
OF_THE_PLAN = frozenset({"unit", "temperature", "form", "protein", "scoop", "delivered"})
STRICTER_WHEN_TRUE = {("supply", "keeps"), ("opened_until", "in_fridge")}
#: what a refusal of each kind tells, so that it can be worded (rules.outcome.REFUSALS)
TOLD = {"beyond_possible": {"name", "found", "low", "high"}, "missing": {"name"}, "no_figure": {"name"},
        "not_taught": {"name"}, "before_start": {"found", "start"}, "no_such_time": {"found"}}
HEADINGS = ("Takes", "Gives", "Refuses", "Remarks", "Source")


@cache
def documented(name: str, heading: str) -> frozenset[str]:
    """The first words of the lines under a heading of the calculator's docstring."""
    text = calculator(name).__doc__ or ""
    _, _, rest = text.partition(f"\n    {heading}\n")
    found: set[str] = set()
    for line in rest.splitlines():
        if line.strip() in HEADINGS:
            break
        entry = re.match(r" {8}(\S+)", line)
        if entry:
            found |= set(entry[1].strip(",").split(","))
    return frozenset(found)


ANSWERED = [example for example in EXAMPLES if "refuses" not in example.values[1]]
REFUSED = [example for example in EXAMPLES if "refuses" in example.values[1]]


@pytest.mark.parametrize(("name", "example"), ANSWERED)
def test_an_outcome_holds_what_its_docstring_names(name: str, example: dict[str, Any]) -> None:
    outcome = calculator(name)(**taken(example))
    assert outcome.figures or name == "timetable"
    for key, figure in outcome.figures.items():
        assert key in documented(name, "Gives"), key
        assert isinstance(figure, Figure) and figure.value is not None
        assert is_amount(figure.value) or isinstance(figure.value, (datetime, date, bool, str))
        for bound in (figure.low, figure.high):
            assert bound is None or type(bound) is type(figure.value)
    codes = documented(name, "Remarks") | (SLIPS if name == "check_settings" else frozenset())
    assert set(outcome.remarks) <= codes, outcome.remarks
    assert isinstance(outcome.defers, bool)
    assert isinstance(outcome.working, tuple) and isinstance(outcome.sources, tuple)
    for step in outcome.working:
        assert isinstance(step, tuple) and len(step) == 2 and NAME.fullmatch(step[0]), step
    assert all(NAME.fullmatch(key) for key in outcome.facts), outcome.facts
    assert outcome.sources and set(outcome.sources) <= set(sources())


@pytest.mark.parametrize(("name", "example"), REFUSED)
def test_a_refusal_names_what_it_refuses(name: str, example: dict[str, Any]) -> None:
    with pytest.raises(CannotAnswer) as refusal:
        calculator(name)(**taken(example))
    assert refusal.value.code in documented(name, "Refuses")
    facts, told = refusal.value.facts, TOLD.get(refusal.value.code, set())
    assert set(facts) >= told
    known = documented(name, "Takes") | table("asks_en").keys() | OF_THE_PLAN
    assert "name" not in told or facts["name"] in known, facts["name"]
    assert "found" not in told or facts["found"] is not None


@pytest.mark.parametrize("name", names())
def test_what_is_not_given_is_never_allowed(name: str) -> None:
    """No yes-or-no argument that lets more happen is on unless it is given: silence allows nothing."""
    for argument in inspect.signature(calculator(name)).parameters.values():
        assert argument.default is not True or (name, argument.name) in STRICTER_WHEN_TRUE, argument.name


def test_a_refusal_has_a_code_of_the_list() -> None:
    assert str(CannotAnswer("missing", name="rate")) == "missing"
    with pytest.raises(AssertionError, match=r"^because"):
        CannotAnswer("because")
    with pytest.raises(CannotAnswer) as refusal:
        need(volume=1, rate=None, over=None)
    assert (refusal.value.code, refusal.value.facts) == ("missing", {"name": "rate"})


def test_there_is_no_calculator_of_another_name() -> None:
    assert "__init__" not in names() and list(names()) == sorted(names()) and "bag_duration" in names()
    with pytest.raises(KeyError, match=r"^'dose'$"):
        calculator("dose")
