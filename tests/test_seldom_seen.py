"""What is possible and yet seldom seen at home is remarked on, and what is refused is named with what was found."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

import pytest
from test_worked_examples import base

from knowledge.library import load
from rules.calculators import calculator, names
from rules.hang_limit import clock_start, hang_limit
from rules.limits import usual
from rules.outcome import CannotAnswer
from rules.quantity import qty

STEP = Decimal("0.001")


def usual_ends() -> Iterator[Any]:
    for name in names():
        for amount, entry in load("limits")[name].items():
            for end in (0, 1):
                if "usual" in entry and entry["usual"][end] != entry["possible"][end]:
                    yield pytest.param(name, amount, entry, end, id=f"{name}.{amount} {'high' if end else 'low'}")


@pytest.mark.parametrize(("name", "amount", "entry", "end"), list(usual_ends()))
def test_an_amount_seldom_seen_is_remarked_on(name: str, amount: str, entry: Any, end: int) -> None:
    takes = base(name, amount)
    if takes is None or amount not in inspect.signature(calculator(name)).parameters:
        pytest.skip("no argument of its own: what it is worked out from is covered by an example")
    bound = Decimal(entry["usual"][end])
    beyond = bound - STEP if end == 0 else bound + STEP
    try:
        outside = calculator(name)(**{**takes, amount: qty(beyond, entry["unit"])})
        inside = calculator(name)(**{**takes, amount: qty(bound, entry["unit"])})
    except CannotAnswer:
        pytest.skip("the example's other amounts rule such an amount out")
    assert "unusual" in outside.remarks and amount in outside.facts["unusual"]
    assert amount not in (inside.facts.get("unusual") or ())
    assert ("unusual" in inside.remarks) is bool(inside.facts.get("unusual"))


def test_a_line_that_holds_all_that_was_hung_leaves_nothing() -> None:
    for hung in ("17.5", "18"):
        with pytest.raises(CannotAnswer) as refusal:
            calculator("bag_duration")(volume=qty(hung, "mL"), rate=qty(72, "mL/h"), priming=qty(18, "mL"))
        assert refusal.value.code == "beyond_possible"
        assert refusal.value.facts == {"name": "volume", "found": qty(hung, "mL"), "low": qty(18, "mL"), "high": None}
    found = calculator("bag_duration")(volume=qty(450, "mL"), rate=qty(72, "mL/h"), priming=qty(18, "mL"))
    assert [name for name, _ in found.working] == ["volume", "priming", "runs", "rate", "duration"]
    assert found.remarks == ("priming_taken_off",) and found.facts["runs"] == qty(432, "mL")
    dry = calculator("bag_duration")(volume=qty(450, "mL"), rate=qty(72, "mL/h"), priming=qty(0, "mL"))
    assert dry.remarks == () and [name for name, _ in dry.working] == ["volume", "rate", "duration"]


def test_the_fastest_a_pump_can_run_is_not_above_it() -> None:
    at = calculator("rate_needed")(volume=qty(300, "mL"), over=qty(1, "h"), kit_highest=qty(300, "mL/h"))
    above = calculator("rate_needed")(volume=qty(301, "mL"), over=qty(1, "h"), kit_highest=qty(300, "mL/h"))
    assert "above_kit" not in at.remarks and "above_kit" in above.remarks and above.defers


def test_a_form_nobody_published_on_is_named() -> None:
    with pytest.raises(CannotAnswer) as refusal:
        hang_limit("freeze dried")
    assert refusal.value.facts == {"name": "hang_time", "found": "freeze dried"}


def test_nobody_is_taken_for_an_infant_or_weak_unless_it_is_said() -> None:
    grown = hang_limit("sterile_liquid", infant=False, weak_immunity=False)
    assert hang_limit("sterile_liquid") == grown
    assert hang_limit("sterile_liquid", infant=True).limit < grown.limit
    assert hang_limit("sterile_liquid", weak_immunity=True).limit < grown.limit


def test_a_hang_clock_needs_a_start() -> None:
    with pytest.raises(CannotAnswer) as refusal:
        clock_start({"paused": datetime(2026, 11, 25, tzinfo=UTC)})
    assert (refusal.value.code, refusal.value.facts) == ("missing", {"name": "start"})


@pytest.mark.parametrize(("name", "takes", "missing"), [
    ("opened_until", {"opened_at": datetime(2026, 11, 25, tzinfo=UTC), "in_fridge": None, "room_limit": qty(4, "h")},
     "in_fridge"),
    ("opened_until", {"opened_at": None}, "start"),
    ("protein", {"volume": None, "content": qty(40, "g/L")}, "volume"),
])
def test_what_is_not_known_is_asked_for_by_its_own_name(name: str, takes: dict[str, Any], missing: str) -> None:
    with pytest.raises(CannotAnswer) as refusal:
        calculator(name)(**takes)
    assert (refusal.value.code, refusal.value.facts) == ("missing", {"name": missing})


def test_a_hang_clock_that_nobody_knows_is_our_own_fault() -> None:
    with pytest.raises(ValueError, match=r"^noon$"):
        calculator("discard_at")(clock_started=datetime(2026, 11, 25, tzinfo=UTC), limit=qty(4, "h"),
                                 started_from="noon")


def test_an_amount_that_is_not_known_hides_no_other_that_is_seldom_seen() -> None:
    assert usual("pour", rate=None, feed_left=qty(4000, "mL")) == ("feed_left",)
