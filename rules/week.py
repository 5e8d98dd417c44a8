"""Delivered against planned, day by day. Pure: the feeds' states, the log and the plan's amounts are given."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta, tzinfo
from decimal import Decimal

from rules.feed_log import NOTHING, Event
from rules.feed_state import FeedState
from rules.quantity import Quantity


@dataclass(frozen=True)
class Day:
    """One day. `given` mL of the feeds that began on it, None where one of them is not known; `water` mL of the flushes
    that were told with an amount; `missed` flushes below the plan's number, None for today and where nothing was told.
    """

    on: date
    feeds: int
    given: Quantity | None
    planned: Quantity | None
    water: Quantity
    flushes: int
    missed: Decimal | None
    vomited: int
    symptoms: int
    told: bool                  # does the log hold anything of that day?

    @property
    def share(self) -> Decimal | None:
        """Given as a share of the planned."""
        if self.given is None or self.planned is None or not self.planned.magnitude:
            return None
        return Decimal((self.given / self.planned).to("").magnitude)


def week(
    states: Iterable[FeedState], events: Iterable[Event], *, today: date, zone: tzinfo, days: int = 7,
    planned: Quantity | None = None, flushes: Decimal | None = None,
) -> tuple[Day, ...]:
    """The last `days` days (1 to 31), oldest first. `planned` mL and `flushes` (count) are the plan's of one day."""
    if not 1 <= days <= 31:
        raise ValueError("1 to 31 days")
    states, events = tuple(states), tuple(events)
    return tuple(_day(today - timedelta(days=back), states, events, today, zone, planned, flushes)
                 for back in range(days - 1, -1, -1))


def _day(on: date, states: tuple[FeedState, ...], events: tuple[Event, ...], today: date, zone: tzinfo,
         planned: Quantity | None, flushes: Decimal | None) -> Day:
    mine = [s for s in states if s.started is not None and s.started.astimezone(zone).date() == on]
    log = [e for e in events if e.at.astimezone(zone).date() == on]
    given: Quantity | None = NOTHING
    for state in mine:
        given = None if given is None or state.given is None else (given + state.given).to("mL")
    flushed = [e for e in log if e.kind == "flushed"]
    water = sum((e.volume.to("mL") for e in flushed if e.volume is not None), NOTHING)
    missed = None
    if flushes is not None and on < today and log:
        missed = max(Decimal(0), flushes - len(flushed))
    count = [e.kind for e in log].count
    return Day(on, len(mine), given if mine else None, planned, water, len(flushed), missed, count("vomited"),
               count("symptom"), bool(log))
