"""The sums over the feed log: what fits it, what runs now, and the week. Times and amounts are worked out by hand."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from rules.feed_state import Event, FeedState, feed_state
from rules.log_order import misfit
from rules.quantity import Quantity, qty
from rules.running import Running, running
from rules.week import Day, week

AT = datetime(2026, 11, 25, 21, 0, tzinfo=UTC)
NEW_YORK = ZoneInfo("America/New_York")
PLAN: dict[str, Any] = {"plan_rate": qty(60, "mL/h"), "plan_volume": qty(100, "mL")}    # through after 1 h 40 min


def after(minutes: float) -> datetime:
    return AT + timedelta(minutes=minutes)


def told(*lines: tuple[float, str]) -> list[Event]:
    return [Event(after(minutes), kind) for minutes, kind in lines]


ON = (0, "feed_started")


@pytest.mark.parametrize(("log", "new", "expected"), [
    ([], (0, "rate_changed"), ("no_start", None)),
    ([], (0, "resumed"), ("no_start", None)),
    ([ON], (0, "feed_started"), ("running_already", 0)),
    ([ON], (50, "rate_changed"), None),
    ([ON, (10, "stopped")], (30, "rate_changed"), ("ended_already", 10)),
    ([ON, (10, "stopped")], (10, "paused"), ("ended_already", 10)),
    ([ON, (10, "stopped"), (20, "stopped")], (30, "paused"), ("ended_already", 20)),
    ([ON, (10, "stopped"), (20, "flushed")], (30, "paused"), ("ended_already", 10)),
    ([ON, (10, "stopped"), (20, "resumed")], (30, "paused"), None),
    ([ON, (10, "stopped"), (20, "resumed"), (30, "stopped")], (40, "stopped"), ("ended_already", 30)),
    ([ON, (20, "stopped")], (10, "paused"), None),
    ([ON, (10, "stopped"), (20, "feed_started")], (30, "paused"), None),
    ([ON, (10, "paused")], (30, "paused"), ("paused_already", 10)),
    ([ON, (10, "paused")], (30, "stopped"), None),
    ([ON, (10, "paused")], (30, "feed_started"), ("running_already", 0)),
    ([ON, (10, "paused")], (30, "resumed"), None),
    ([ON, (10, "stopped")], (30, "resumed"), None),
    ([ON], (30, "resumed"), ("not_paused", 0)),
    ([ON, (10, "paused"), (20, "resumed")], (30, "resumed"), ("not_paused", 20)),
    ([ON, (10, "paused"), (20, "resumed")], (20, "resumed"), ("not_paused", 20)),
    ([ON, (10, "paused"), (20, "resumed"), (25, "rate_changed"), (40, "paused")], (30, "resumed"), ("not_paused", 20)),
    ([ON], (99, "feed_started"), ("running_already", 0)),
    ([ON], (101, "feed_started"), None),                        # it ran out by itself after 100 min
    ([ON, (5, "symptom")], (5, "symptom"), None),
])
def test_what_does_not_fit_is_told_with_the_time_it_clashes_with(
    log: list[tuple[float, str]], new: tuple[float, str], expected: tuple[str, float | None] | None
) -> None:
    clash = expected and (expected[0], None if expected[1] is None else after(expected[1]))
    assert misfit(iter(told(*log)), told(new)[0], **PLAN) == clash
    assert misfit(told(*log)[::-1], told(new)[0], **PLAN) == clash, "the order of telling does not matter"


@pytest.mark.parametrize("kind", ["flushed", "poured", "medicine_given", "set_changed"])
def test_the_same_thing_within_two_minutes_may_be_one_thing(kind: str) -> None:
    once = Event(after(5), kind, qty(20, "mL"), feed="night")
    for apart, clash in ((2, True), (-2, True), (2.02, False), (-2.02, False)):
        again = Event(after(5 + apart), kind, qty(20, "mL"), feed="night")
        assert misfit([once], again) == (("twice", after(5)) if clash else None)
    for other in (Event(after(6), kind, qty(21, "mL"), feed="night"), Event(after(6), kind, qty(20, "mL"), feed="day"),
                  Event(after(6), "flushed" if kind != "flushed" else "poured", qty(20, "mL"), feed="night")):
        assert misfit([once], other) is None


def test_entries_are_in_order_by_real_time_where_the_clocks_go_back() -> None:
    """01:10 after the change is 40 minutes after 01:30 before it."""
    def at(hour: int, minute: int, fold: int) -> datetime:
        return datetime(2026, 11, 1, hour, minute, fold=fold, tzinfo=NEW_YORK)
    begun = Event(at(0, 50, 0), "feed_started")
    stopped, resumed = Event(at(1, 30, 0), "stopped"), Event(at(1, 10, 1), "resumed")
    plan = {"plan_rate": qty(60, "mL/h")}
    assert misfit([begun, stopped, resumed], Event(at(1, 20, 1), "paused"), **plan) is None
    for start in (begun, Event(at(1, 20, 0), "feed_started")):
        code, on_since = misfit([start, stopped, resumed], Event(at(1, 20, 1), "resumed"), **plan) or ("", None)
        assert code == "not_paused" and on_since is not None and on_since.isoformat() == "2026-11-01T01:10:00-05:00"


@pytest.mark.parametrize(("log", "discard", "flush"), [
    ([], None, None),                                           # no feed
    ([ON], 240, 120),                                           # 4 h and 2 h from the start
    ([(-30, "poured"), ON], 210, 120),                          # what hangs was poured half an hour before
    ([(-30, "flushed"), ON], 240, 120),                         # a flush before the feed does not count
    ([ON, (20, "flushed")], 240, 140),
    ([ON, (20, "flushed"), (50, "flushed")], 240, 170),
    ([ON, (20, "paused")], 240, 120),                           # a paused bag goes on hanging
    ([ON, (20, "stopped")], None, None),
])
def test_discard_and_flush_times(log: list[tuple[float, str]], discard: float | None, flush: float | None) -> None:
    found = running(iter(told(*log)), after(60), hang_limit=qty(4, "h"), flush_every=qty(2, "h"),
                    plan_rate=qty(60, "mL/h"))
    assert found.discard_at == (None if discard is None else after(discard))
    assert found.next_flush == (None if flush is None else after(flush))
    assert found.state == feed_state(told(*log), after(60), plan_rate=qty(60, "mL/h"))
    none_known = running(told(*log), after(60), plan_rate=qty(60, "mL/h"))
    assert none_known == Running(found.state), "without a limit and an interval no time is told"


def fed(at: datetime, given: Quantity | None) -> FeedState:
    return FeedState(started=at, given=given)


TODAY = date(2026, 11, 25)


def days(states: list[FeedState], events: list[Event], number: int = 2, **more: Any) -> tuple[Day, ...]:
    return week(iter(states), iter(events), today=TODAY, zone=NEW_YORK, days=number, **more)


def test_a_week_is_seven_days_the_oldest_first() -> None:
    found = week([], [], today=TODAY, zone=UTC)
    assert [day.on for day in found] == [date(2026, 11, day) for day in range(19, 26)]
    for number in (1, 31):
        assert len(days([], [], number)) == number
    for number in (0, 32):
        with pytest.raises(ValueError, match=r"^1 to 31 days$"):
            days([], [], number)


def test_a_feed_counts_on_the_day_it_began_where_the_household_lives() -> None:
    """03:30 UTC is 22:30 of the day before in New York."""
    night = datetime(2026, 11, 25, 3, 30, tzinfo=UTC)
    noon = datetime(2026, 11, 24, 12, tzinfo=NEW_YORK)
    before, today = days([fed(night, qty("0.4", "L")), fed(noon, qty(200, "mL")), FeedState()],
                         [Event(night, "flushed", qty("0.03", "L")), Event(noon, "flushed"), Event(noon, "vomited"),
                          Event(noon, "symptom"), Event(noon, "symptom"), Event(night, "poured", qty(500, "mL"))],
                         planned=qty(800, "mL"), flushes=Decimal(6))
    assert before == Day(date(2026, 11, 24), 2, qty(600, "mL"), qty(800, "mL"), qty(30, "mL"), 2, Decimal(4),
                         vomited=1, symptoms=2, told=True)
    assert before.share == Decimal("0.75") and before.given is not None and str(before.given.units) == "mL"
    assert today == Day(TODAY, 0, None, qty(800, "mL"), qty(0, "mL"), 0, None, 0, 0, False) and today.share is None
    assert str(before.water.units) == str(today.water.units) == "mL"


def test_one_unknown_amount_leaves_the_day_unknown() -> None:
    at = datetime(2026, 11, 25, 12, tzinfo=NEW_YORK)
    for amounts in ((None, qty(200, "mL")), (qty(200, "mL"), None)):
        found = days([fed(at, amount) for amount in amounts], [], planned=qty(800, "mL"))[1]
        assert (found.feeds, found.given, found.share) == (2, None, None)


def test_flushes_are_missed_on_days_that_are_over_and_told_of() -> None:
    yesterday, today = (datetime(2026, 11, day, 12, tzinfo=NEW_YORK) for day in (24, 25))
    flushed = [Event(yesterday, "flushed")] * 3
    found = days([], [*flushed, Event(today, "flushed")], flushes=Decimal(5))
    assert [day.missed for day in found] == [Decimal(2), None]
    assert days([], flushed, flushes=Decimal(2))[0].missed == 0, "more than planned is none missed"
    assert days([], flushed)[0].missed is None and days([], [], flushes=Decimal(5))[0].missed is None


def test_without_a_planned_amount_there_is_no_share() -> None:
    at = datetime(2026, 11, 25, 12, tzinfo=NEW_YORK)
    for planned in (None, qty(0, "mL")):
        assert days([fed(at, qty(200, "mL"))], [], planned=planned)[1].share is None
