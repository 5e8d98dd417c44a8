"""Each row of a timetable tells what is done, for which feed, and with how much. Times are worked out by hand."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from rules.calculators import calculator
from rules.calculators.timetable import DayFeed
from rules.outcome import CannotAnswer
from rules.quantity import qty

NOON = datetime(2026, 11, 25, 12, tzinfo=UTC)
FLUSH = qty(60, "mL")
NIGHT = DayFeed("night", NOON + timedelta(hours=9), NOON + timedelta(hours=18), "pump", qty(765, "mL"), qty(85, "mL/h"))
OPEN = DayFeed("open", NOON + timedelta(hours=1), None, "gravity")


def rows(*feeds: DayFeed, **takes: Any) -> list[tuple[str, float, dict[str, Any]]]:
    found = calculator("timetable")(feeds=iter(feeds), day_start=NOON, day_end=NOON + timedelta(hours=24), **takes)
    assert [step for step, _ in found.working] == [row.what for row in found.facts["rows"]]
    return [(row.what, (row.at - NOON) / timedelta(hours=1), dict(row.facts)) for row in found.facts["rows"]]


def test_the_rows_of_a_night_by_pump() -> None:
    night = {"feed": "night", "method": "pump", "volume": qty(765, "mL"), "rate": qty(85, "mL/h")}
    flush = {"feed": "night", "flush": FLUSH}
    assert rows(NIGHT, flush=FLUSH, every=qty(5, "h"), before_feed=True, after_feed=True, hang_limit=qty(4, "h"),
                set_changed=NOON - timedelta(hours=4), set_limit=qty(24, "h")) == [
        ("flush_before", 9, flush), ("feed_start", 9, night),
        ("pour_again", 13, {"feed": "night", "into": qty(4, "h")}),
        ("flush_during", 14, {**flush, "into": qty(5, "h")}),
        ("pour_again", 17, {"feed": "night", "into": qty(8, "h")}),
        ("feed_finish", 18, night), ("flush_after", 18, flush),
        ("set_change", 20, {"limit": qty(24, "h")}),
    ]


def test_nothing_is_asked_for_that_the_plan_does_not_hold() -> None:
    told = {"feed": "night", "method": "pump", "volume": qty(765, "mL"), "rate": qty(85, "mL/h")}
    assert rows(NIGHT) == [("feed_start", 9, told), ("feed_finish", 18, told)]
    for part in ({"set_changed": NOON}, {"set_limit": qty(12, "h")}):
        assert [what for what, _, _ in rows(NIGHT, **part)] == ["feed_start", "feed_finish"]


def test_only_a_pump_is_poured_again() -> None:
    by_hand = DayFeed("hand", NIGHT.start, NIGHT.finish, "gravity")
    assert [what for what, _, _ in rows(by_hand, hang_limit=qty(4, "h"))] == ["feed_start", "feed_finish"]


def test_the_day_holds_its_start_and_not_its_end() -> None:
    first = DayFeed("first", NOON, NOON + timedelta(hours=1), "gravity")
    last = DayFeed("last", NOON + timedelta(hours=23), NOON + timedelta(hours=24), "gravity")
    before = DayFeed("before", NOON - timedelta(hours=1), NOON, "gravity")
    assert [(what, at, facts["feed"]) for what, at, facts in rows(first, last, before)] == [
        ("feed_start", 0, "first"), ("feed_finish", 0, "before"), ("feed_finish", 1, "first"),
        ("feed_start", 23, "last")]


def test_feeds_whose_end_is_not_told_are_named() -> None:
    found = calculator("timetable")(feeds=[OPEN, NIGHT], day_start=NOON, day_end=NOON + timedelta(hours=24),
                                    sources=("arithmetic", "aspen-course-2022"))
    assert (found.facts["unknown"], found.remarks) == (("open",), ("finish_unknown",))
    assert found.sources == ("arithmetic", "aspen-course-2022")
    early = calculator("timetable")(feeds=[OPEN], day_start=NOON + timedelta(hours=2),
                                    day_end=NOON + timedelta(hours=3))
    assert (early.remarks, early.sources) == (("nothing_planned", "finish_unknown"), ("arithmetic",))
    assert rows(OPEN, flush=FLUSH, every=qty(1, "h"), after_feed=True, before_feed=True) == [
        ("flush_before", 1, {"feed": "open", "flush": FLUSH}),
        ("feed_start", 1, {"feed": "open", "method": "gravity", "volume": None, "rate": None})]


@pytest.mark.parametrize(("name", "amount"), [
    ("flush", qty("500.1", "mL")), ("every", qty("0.4", "h")), ("hang_limit", qty("48.1", "h")),
    ("set_limit", qty("72.1", "h"))])
def test_limits_that_cannot_be_are_refused(name: str, amount: Any) -> None:
    with pytest.raises(CannotAnswer) as refusal:
        rows(NIGHT, **{name: amount})
    assert (refusal.value.code, refusal.value.facts["name"]) == ("beyond_possible", name)
