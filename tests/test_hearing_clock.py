"""Which instant a time of day means, and which numbers are easily misheard. Expected instants by hand."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from assistant.hear import digit_by_digit, misheard, resolve
from assistant.message import Reading
from rules.outcome import CannotAnswer

ZONE = ZoneInfo("America/Denver")  # clocks: back 1 Nov 2026 at 2:00, forward 14 Mar 2027 at 2:00


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=ZONE)


def clock(text: str, unit: str = "12h") -> Reading:
    hour, minute = map(int, text.split(":"))
    return Reading("clock", hour * 60 + minute, unit)


# Wednesday 25 November 2026
@pytest.mark.parametrize(
    ("said", "unit", "now", "when", "day", "expected"),
    [
        ("9:30", "12h", "2026-11-25T02:10", "past", None, ["2026-11-24T21:30", "2026-11-24T09:30"]),
        ("9:30", "12h", "2026-11-25T02:10", "future", None, ["2026-11-25T09:30", "2026-11-25T21:30"]),
        ("1:00", "12h", "2026-11-25T02:10", "nearest", None, ["2026-11-25T01:00", "2026-11-25T13:00"]),
        ("12:40", "12h", "2026-11-25T00:10", "future", None, ["2026-11-25T00:40", "2026-11-25T12:40"]),
        ("2:10", "12h", "2026-11-25T02:10", "past", None, ["2026-11-25T02:10", "2026-11-24T14:10"]),
        ("21:15", "24h", "2026-11-25T02:10", "past", None, ["2026-11-24T21:15"]),
        ("21:15", "24h", "2026-11-25T02:10", "future", None, ["2026-11-25T21:15"]),
        ("7:00", "12h", "2026-11-25T20:00", "future", "tomorrow", ["2026-11-26T07:00", "2026-11-26T19:00"]),
        ("9:00", "12h", "2026-11-25T10:00", "past", "last night", ["2026-11-24T21:00", "2026-11-24T09:00"]),
        ("1:00", "12h", "2026-11-25T10:00", "past", "last night", ["2026-11-25T01:00", "2026-11-24T13:00"]),
        ("9:00", "12h", "2026-11-25T17:00", "future", "tonight", ["2026-11-25T21:00", "2026-11-25T09:00"]),
        ("2:00", "24h", "2026-11-25T17:00", "future", "tonight", ["2026-11-26T02:00"]),
        ("9:00", "12h", "2026-11-25T00:30", "past", "tonight", ["2026-11-24T21:00", "2026-11-24T09:00"]),
        ("8:00", "24h", "2026-11-25T12:00", "future", "sunday", ["2026-11-29T08:00"]),
        ("8:00", "24h", "2026-11-25T12:00", "past", "sunday", ["2026-11-22T08:00"]),
        ("8:00", "24h", "2026-11-25T12:00", "past", "wednesday", ["2026-11-25T08:00"]),
        ("8:00", "24h", "2026-11-25T12:00", "future", "wednesday", ["2026-12-02T08:00"]),
        ("8:00", "24h", "2026-11-25T12:00", "future", "14", ["2026-12-14T08:00"]),
        ("8:00", "24h", "2026-11-25T12:00", "past", "14", ["2026-11-14T08:00"]),
        ("8:00", "24h", "2026-11-25T12:00", "future", "--03-05", ["2027-03-05T08:00"]),
        ("8:00", "24h", "2026-11-25T12:00", "future", "2026-11-29", ["2026-11-29T08:00"]),
    ],
)
def test_the_likelier_half_of_the_day_comes_first(
    said: str, unit: str, now: str, when: str, day: str | None, expected: list[str]
) -> None:
    assert resolve(clock(said, unit), at(now), when, day) == [at(each) for each in expected]


def test_a_time_the_clocks_skip_is_refused() -> None:
    for reading in (clock("2:30", "24h"), clock("2:30")):
        with pytest.raises(CannotAnswer) as refusal:
            resolve(reading, at("2027-03-14T01:00"), "future")
        assert refusal.value.code == "no_such_time" and refusal.value.facts["found"] == "02:30"


def test_the_afternoon_of_a_skipped_time_is_not_lost() -> None:
    assert resolve(clock("2:30"), at("2027-03-14T13:00"), "future")[0] == at("2027-03-14T14:30")


def test_a_time_that_comes_twice_gives_both_instants() -> None:
    found = resolve(clock("1:30", "24h"), at("2026-10-31T22:00"), "future")
    assert [each.astimezone(ZoneInfo("UTC")).hour for each in found] == [7, 8]  # 1:30 MDT and 1:30 MST
    assert [each.fold for each in found] == [0, 1]


def test_which_came_later_is_told_by_real_time() -> None:
    """Said at 1:10 after the clocks went back: 1:20 just past was the first 1:20, fifty minutes ago."""
    found = resolve(clock("1:20", "24h"), at("2026-11-01T01:10").replace(fold=1), "past")
    assert (found[0].date().day, found[0].fold) == (1, 0)


def test_now_must_have_a_zone() -> None:
    with pytest.raises(ValueError, match="timezone-aware"):
        resolve(clock("9:00"), datetime(2026, 11, 25), "past")


@pytest.mark.parametrize(
    ("value", "twin"),
    [
        (13, 30),
        (30, 13),
        (19, 90),
        (90, 19),
        (50, 15),
        (113, 130),
        (160, 116),
        (12, None),
        (20, None),
        (78, None),
        (100, None),
        (1000, None),
    ],
)
def test_teens_and_tens_are_taken_for_each_other(value: int, twin: int | None) -> None:
    assert misheard(Decimal(value)) == twin


def test_a_decimal_has_no_twin() -> None:
    assert misheard(Decimal("13.5")) is None


@pytest.mark.parametrize(
    ("value", "said"),
    [("15", "one five"), ("7.8", "seven point eight"), ("1092", "one zero nine two"), ("50", "five zero")],
)
def test_digits_are_said_one_by_one(value: str, said: str) -> None:
    assert digit_by_digit(Decimal(value)) == said
