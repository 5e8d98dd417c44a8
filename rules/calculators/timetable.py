from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from rules.clock import before, between, later
from rules.limits import within
from rules.outcome import Outcome
from rules.quantity import Quantity

#: kinds of row, in the order in which rows of one instant are listed
KINDS = ("set_change", "flush_before", "feed_start", "flush_during", "pour_again", "feed_finish",
         "flush_after")


@dataclass(frozen=True)
class DayFeed:
    """One feed of the day as instants: when it starts and, where that is known, when it is through."""

    name: str
    start: datetime
    finish: datetime | None
    method: str
    volume: Quantity | None = None
    rate: Quantity | None = None


@dataclass(frozen=True)
class Row:
    at: datetime
    what: str                                                   # one of KINDS
    facts: Mapping[str, Any] = field(default_factory=dict)


def timetable(
    *, feeds: Iterable[DayFeed], day_start: datetime, day_end: datetime, flush: Quantity | None = None,
    every: Quantity | None = None, before_feed: bool = False, after_feed: bool = False,
    hang_limit: Quantity | None = None, set_changed: datetime | None = None, set_limit: Quantity | None = None,
    sources: tuple[str, ...] = ("arithmetic",),
) -> Outcome:
    """What is to be done when, in order, from one instant to another (a day).

    Takes
        feeds        list              DayFeed: name, start, finish, method, volume, rate
        day_start    instant           rows from here
        day_end      instant           to here, the end itself left out
        flush        mL  0.5 to 500    one flush
        every        h   0.5 to 24     interval of flushes while a feed runs
        hang_limit   h   0.5 to 48     how long the formula may hang (rules.hang_limit)
        set_limit    h   1 to 72       after how long the feeding set is changed
        set_changed  instant           when it was last changed
        before_feed  yes or no         a flush before each feed
        after_feed   yes or no         a flush after each feed
        sources      list              of the limits
    Gives
        nothing by name                facts `rows`: Row(at, what, facts) in order
    Refuses
        beyond_possible                an amount outside its range
    Remarks
        nothing_planned                no row falls into the span
        finish_unknown                 facts `unknown` names the feeds whose end the plan does not tell
    Source
        arithmetic                     the plan's own times; with the limits' own sources
    """
    within("timetable", flush=flush, every=every, hang_limit=hang_limit, set_limit=set_limit)
    planned = tuple(feeds)
    rows = []
    for feed in planned:
        facts = {"feed": feed.name, "method": feed.method, "volume": feed.volume, "rate": feed.rate}
        rows.append(Row(feed.start, "feed_start", facts))
        rows += [Row(feed.start, "flush_before", {"feed": feed.name, "flush": flush})] * before_feed
        if feed.finish is not None:
            rows.append(Row(feed.finish, "feed_finish", facts))
            rows += [Row(feed.finish, "flush_after", {"feed": feed.name, "flush": flush})] * after_feed
            rows += _during(feed, feed.finish, every, "flush_during", {"feed": feed.name, "flush": flush})
            if feed.method == "pump":
                rows += _during(feed, feed.finish, hang_limit, "pour_again", {"feed": feed.name})
    if set_changed is not None and set_limit is not None:
        rows.append(Row(later(set_changed, set_limit), "set_change", {"limit": set_limit}))
    inside = [row for row in rows if not before(row.at, day_start) and before(row.at, day_end)]
    inside.sort(key=lambda row: (row.at.timestamp(), KINDS.index(row.what)))
    unknown = tuple(feed.name for feed in planned if feed.finish is None)
    remarks = ("nothing_planned",) * (not inside) + ("finish_unknown",) * bool(unknown)
    return Outcome({}, tuple((row.what, row.at) for row in inside), sources, remarks,
                   facts={"rows": tuple(inside), "unknown": unknown})


def _during(
    feed: DayFeed, finish: datetime, every: Quantity | None, what: str, facts: Mapping[str, Any]
) -> list[Row]:
    """A row at each interval inside the feed, its start and end not counted."""
    rows: list[Row] = []
    if every is None:
        return rows
    at = later(feed.start, every)
    while before(at, finish):
        rows.append(Row(at, what, {**facts, "into": between(feed.start, at)}))
        at = later(at, every)
    return rows
