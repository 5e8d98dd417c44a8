"""Instants and real elapsed time. Sums are done in UTC and shown in the zone of the start, so a change of clocks
in between is real time: eleven hours after 21:00 is 09:00 on the night the clocks go forward.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from rules.quantity import Quantity, as_span, as_time


def aware(at: datetime) -> datetime:
    """The same instant; ValueError for a clock time that names no zone (a fault of ours, not of the person)."""
    if at.tzinfo is None or at.utcoffset() is None:
        raise ValueError(f"{at!r} names no zone")
    return at


def later(start: datetime, elapsed: Quantity) -> datetime:
    """`start` plus real elapsed time, shown in the zone of `start`."""
    return (aware(start).astimezone(UTC) + as_span(elapsed)).astimezone(start.tzinfo)


def earlier(finish: datetime, elapsed: Quantity) -> datetime:
    """`finish` less real elapsed time, shown in the zone of `finish`."""
    return (aware(finish).astimezone(UTC) - as_span(elapsed)).astimezone(finish.tzinfo)


def between(start: datetime, finish: datetime) -> Quantity:
    """Real time (h) from one instant to another; negative where `finish` comes first."""
    return as_time(aware(finish).astimezone(UTC) - aware(start).astimezone(UTC))


def before(one: datetime, other: datetime) -> bool:
    """Is `one` the earlier instant? Two times of one zone would otherwise be compared by the wall clock alone."""
    return aware(one).astimezone(UTC) < aware(other).astimezone(UTC)


def wall_shift(start: datetime, finish: datetime) -> Quantity:
    """By how much (h) the wall clock reads later at `finish` than real time alone would make it."""
    start_offset, finish_offset = aware(start).utcoffset(), aware(finish).utcoffset()
    assert start_offset is not None and finish_offset is not None
    return as_time(finish_offset - start_offset)


def midnight(at: datetime) -> datetime:
    """The start of the day of `at` in its zone."""
    return aware(at).replace(hour=0, minute=0, second=0, microsecond=0, fold=0)


def days_between(first: date, second: date) -> int:
    return (second - first) // timedelta(days=1)


def change_between(start: datetime, finish: datetime) -> datetime | None:
    """The instant (to the second) at which the zone's clocks change between two instants; None where they read alike.

    Two changes that undo each other within the span are not looked for: no feed lasts that long.
    """
    zone = aware(start).tzinfo
    low, high = start.astimezone(UTC), aware(finish).astimezone(UTC)
    if low.astimezone(zone).utcoffset() == high.astimezone(zone).utcoffset():
        return None
    first = low.astimezone(zone).utcoffset()
    while high - low > timedelta(seconds=1):
        middle = low + (high - low) / 2
        if middle.astimezone(zone).utcoffset() == first:
            low = middle
        else:
            high = middle
    return high.replace(microsecond=0).astimezone(zone)
