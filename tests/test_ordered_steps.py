"""A rate that is raised in steps, given in any order and over a change of clocks. Times are worked out by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from rules.outcome import CannotAnswer
from rules.quantity import qty, unit_of
from rules.steps import after, finish_of, rate_at, stretches, time_for, volume_of

AT = datetime(2026, 11, 25, 20, tzinfo=UTC)
SLOW, FASTER, FAST = qty(20, "mL/h"), qty(40, "mL/h"), qty(60, "mL/h")
FIRST, SECOND = (AT + timedelta(hours=2), FASTER), (AT + timedelta(hours=3), FAST)


def test_the_rate_in_force_whatever_the_order_of_telling() -> None:
    for steps in ((FIRST, SECOND), (SECOND, FIRST)):
        assert rate_at(steps, AT) is None and rate_at(steps, AT, first=SLOW) == SLOW
        assert rate_at(steps, FIRST[0], first=SLOW) == FASTER and rate_at(steps, SECOND[0]) == FAST
        assert after(steps, AT) == (FIRST, SECOND) and after(steps, FIRST[0]) == (SECOND,)
        assert after(steps, SECOND[0]) == ()


def test_what_ran_is_each_rate_with_its_time() -> None:
    """20 mL/h for 2 h, 40 for 1 h and 60 for half an hour are 40 + 40 + 30 = 110 mL."""
    for steps in ((FIRST, SECOND), (SECOND, FIRST)):
        ran = stretches(AT, AT + timedelta(hours=3.5), SLOW, steps)
        assert ran == [(SLOW, qty(2, "h")), (FASTER, qty(1, "h")), (FAST, qty("0.5", "h"))]
        assert volume_of(ran) == qty(110, "mL")
        assert stretches(AT, AT + timedelta(hours=1), SLOW, steps) == [(SLOW, qty(1, "h"))]
        assert stretches(AT, FIRST[0], SLOW, steps) == [(SLOW, qty(2, "h"))]
        assert stretches(FIRST[0], SECOND[0], FASTER, steps) == [(FASTER, qty(1, "h"))]
    assert stretches(AT, AT, SLOW, (FIRST,)) == [] and unit_of(volume_of([])) == "mL" and not volume_of([])
    assert stretches(AT, AT + timedelta(hours=1), SLOW) == [(SLOW, qty(1, "h"))]


def test_a_stretch_at_no_known_rate_is_refused_and_none_is_not() -> None:
    with pytest.raises(CannotAnswer) as refusal:
        stretches(AT, SECOND[0], None, (FIRST,))
    assert (refusal.value.code, refusal.value.facts) == ("missing", {"name": "rate"})
    assert stretches(AT, AT, None) == []


def test_how_long_a_volume_takes_through_the_steps() -> None:
    """40 mL by the first step, 80 by the second: 110 mL take 3.5 h, 60 mL 2.5 h, 40 mL 2 h, 10 mL half an hour."""
    for steps in ((FIRST, SECOND), (SECOND, FIRST)):
        for volume, hours in ((110, "3.5"), (80, "3"), (60, "2.5"), (40, "2"), (10, "0.5"), (0, "0")):
            assert time_for(qty(volume, "mL"), AT, SLOW, steps) == qty(hours, "h")
            assert finish_of(qty(volume, "mL"), AT, SLOW, steps) == AT + timedelta(hours=float(hours))
    assert time_for(qty("0.04", "L"), AT, SLOW) == qty(2, "h") and finish_of(qty(40, "mL"), AT, SLOW) == FIRST[0]


def test_steps_are_in_order_by_real_time_where_the_clocks_go_back() -> None:
    """01:10 after the change is 40 minutes after 01:30 before it."""
    zone = ZoneInfo("America/New_York")
    one = (datetime(2026, 11, 1, 1, 30, fold=0, tzinfo=zone), FASTER)
    two = (datetime(2026, 11, 1, 1, 10, fold=1, tzinfo=zone), FAST)
    start = datetime(2026, 11, 1, 0, 30, tzinfo=zone)
    assert after((two, one), start) == (one, two)
    assert rate_at((two, one), datetime(2026, 11, 1, 1, 20, fold=1, tzinfo=zone)) == FAST
    assert rate_at((two, one), datetime(2026, 11, 1, 1, 40, fold=0, tzinfo=zone)) == FASTER
