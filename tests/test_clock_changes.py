"""Clock times are real elapsed time. python-dateutil's own zone arithmetic is the second opinion."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest
from dateutil import tz
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.calculators.clock_change import clock_change
from rules.calculators.finish_at import finish_at
from rules.calculators.start_by import start_by
from rules.clock import (
    aware,
    before,
    between,
    change_between,
    days_between,
    earlier,
    later,
    midnight,
    wall_shift,
)
from rules.quantity import number, qty

ZONES = ["America/New_York", "America/Chicago", "Europe/London", "Australia/Sydney", "Australia/Lord_Howe",
         "Pacific/Auckland", "Africa/Cairo", "America/Havana", "America/St_Johns", "Asia/Kolkata", "America/Phoenix"]
HAVANA = ZoneInfo("America/Havana")
starts = st.datetimes(datetime(2024, 1, 1), datetime(2031, 12, 31))
minutes = st.integers(0, 60 * 48)


def by_dateutil(start: datetime, zone: str, run: int) -> datetime:
    """The wall clock after `run` minutes, worked out by dateutil alone."""
    there = start.astimezone(UTC).replace(tzinfo=tz.UTC).astimezone(tz.gettz(zone))
    utc = there.astimezone(tz.UTC) + timedelta(minutes=run)
    return utc.astimezone(tz.gettz(zone))


@settings(max_examples=300, deadline=None)
@given(starts, st.sampled_from(ZONES), minutes, st.booleans())
def test_the_finish_agrees_with_dateutil(naive: datetime, zone: str, run: int, second: bool) -> None:
    start = naive.replace(tzinfo=ZoneInfo(zone), fold=int(second))
    start = start.astimezone(UTC).astimezone(ZoneInfo(zone))            # a time in a gap is moved to a real one
    finish = later(start, qty(run, "min"))
    other = by_dateutil(start, zone, run)
    assert finish.replace(tzinfo=None, fold=0) == other.replace(tzinfo=None, fold=0)
    assert finish.utcoffset() == other.utcoffset()
    assert earlier(finish, qty(run, "min")) == start
    assert number(between(start, finish), "min") == pytest.approx(Decimal(run), abs=Decimal("1e-20"))
    assert wall_shift(start, finish).to("min").magnitude == (
        finish.utcoffset() - start.utcoffset()) / timedelta(minutes=1)  # type: ignore[operator]


def test_the_wall_clock_alone_would_be_an_hour_wrong() -> None:
    start = datetime(2026, 3, 7, 21, tzinfo=ZoneInfo("America/New_York"))
    assert finish_at(start=start, over=qty(11, "h")).figures["finish_at"].value == start + timedelta(hours=12)
    assert (start + timedelta(hours=11)).hour == 8, "this is what adding to the wall clock gives"


def test_the_change_itself_is_found() -> None:
    zone = ZoneInfo("America/Chicago")
    start, finish = datetime(2026, 10, 31, 21, tzinfo=zone), datetime(2026, 11, 1, 7, tzinfo=zone)
    changed = change_between(start, finish)
    assert changed is not None and changed.isoformat() == "2026-11-01T01:00:00-06:00"
    assert change_between(start, datetime(2026, 10, 31, 23, tzinfo=zone)) is None
    outcome = clock_change(start=start, finish=finish)
    assert outcome.remarks == ("clocks_back",) and outcome.facts["real"] == qty(11, "h")


@settings(max_examples=100, deadline=None)
@given(st.integers(1, 86_400_000), st.integers(0, 86_400_000), st.sampled_from([
    ("America/New_York", "2026-03-08T03:00:00-04:00"), ("America/New_York", "2026-11-01T01:00:00-05:00"),
    ("Australia/Lord_Howe", "2026-10-04T02:30:00+11:00"), ("Africa/Cairo", "2026-04-24T01:00:00+03:00")]))
def test_the_change_is_found_to_the_second_from_any_start(early: int, late: int, at: tuple[str, str]) -> None:
    """The zones' published rules: 2 a.m. on the second Sunday of March and the first of November, and so on."""
    change = datetime.fromisoformat(at[1]).astimezone(UTC)
    start, finish = (moment.astimezone(ZoneInfo(at[0])) for moment in (
        change - timedelta(milliseconds=early), change + timedelta(milliseconds=late)))
    found = change_between(start, finish)
    assert found is not None and (found.isoformat(), found.tzinfo) == (at[1], ZoneInfo(at[0]))


def test_the_second_reading_of_a_repeated_time_is_later() -> None:
    zone = ZoneInfo("America/New_York")
    first, second = (datetime(2026, 11, 1, 1, 30, fold=fold, tzinfo=zone) for fold in (0, 1))
    assert before(first, second) and not before(second, first)
    assert between(first, second) == qty(1, "h")
    assert later(first, qty(1, "h")).isoformat() == second.isoformat()


def test_a_start_before_the_change_is_found_from_the_finish() -> None:
    finish = datetime(2026, 3, 8, 9, tzinfo=ZoneInfo("America/New_York"))
    outcome = start_by(finish=finish, over=qty(11, "h"))
    assert outcome.figures["start_at"].value.isoformat() == "2026-03-07T21:00:00-05:00"
    assert outcome.remarks == ("clocks_change",) and outcome.facts["shift"] == qty(1, "h")


def test_a_clock_time_without_a_zone_is_our_own_fault() -> None:
    with pytest.raises(ValueError, match="names no zone"):
        aware(datetime(2026, 3, 8, 9))
    with pytest.raises(ValueError, match=r"2026, 3, 8, 9, 0\) names no zone"):
        later(datetime(2026, 3, 8, 9), qty(1, "h"))


def test_the_day_starts_at_midnight_of_its_own_zone() -> None:
    at = datetime(2026, 11, 1, 1, 30, fold=1, tzinfo=ZoneInfo("America/New_York"))
    assert midnight(at).isoformat() == "2026-11-01T00:00:00-04:00"
    for at in (datetime(2026, 11, 1, 12, tzinfo=HAVANA), datetime(2026, 11, 1, 0, 30, fold=1, tzinfo=HAVANA)):
        assert midnight(at).isoformat() == "2026-11-01T00:00:00-04:00", "there midnight comes twice: the first counts"
    at = datetime(2026, 11, 25, 13, 14, 15, 16, tzinfo=ZoneInfo("America/New_York"))
    assert midnight(at).isoformat() == "2026-11-25T00:00:00-05:00"
    last, first = date(2026, 2, 27), date(2026, 3, 1)
    assert (days_between(last, first), days_between(first, last)) == (2, -2)
