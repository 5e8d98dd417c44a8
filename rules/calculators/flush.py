from __future__ import annotations

from datetime import datetime
from typing import Any

from rules.clock import before, later
from rules.limits import usual, within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity


def flush(
    *, volume: Quantity | None = None, every: Quantity | None = None, last: datetime | None = None,
    feed_started: datetime | None = None, feed_finish: datetime | None = None, next_feed: datetime | None = None,
    before_feed: bool = False, after_feed: bool = False, now: datetime | None = None,
) -> Outcome:
    """How much water a flush is, and when the next one is due.

    Takes
        volume        mL  0.5 to 500  one flush, from the care plan: never a standard amount
        every         h   0.5 to 24   interval while a feed runs
        last          instant         the last flush
        feed_started  instant         the feed that is running
        feed_finish   instant         when it will be through
        next_feed     instant         when the next feed starts
        before_feed   yes or no       the plan wants a flush before each feed
        after_feed    yes or no       the plan wants a flush after each feed
        now           instant
    Gives
        flush    mL
        next_at  instant              the earliest that is due, where anything is known
    Refuses
        missing                       the plan has no flush volume
        beyond_possible               an amount outside its range
    Remarks
        by_interval                   the interval while the feed runs
        after_the_feed                at the end of the feed
        before_the_feed               at the start of the next feed
        flush_overdue                 that time has passed
        no_time_known                 nothing tells when the next one is due; also with each medicine
        unusual                       facts `unusual`: such a flush is seldom seen at home
    Source
        arithmetic                    the plan's own amount and interval
    """
    need(flush=volume)
    assert volume is not None
    within("flush", volume=volume, every=every)
    due = _due(every, last, feed_started, feed_finish, next_feed if before_feed else None, after_feed)
    figures, remarks = {"flush": Figure(volume.to("mL"))}, ["no_time_known"]
    working: list[tuple[str, Any]] = [("flush", volume)]
    if due:
        reason, at = due[0]
        for other_reason, other in due[1:]:
            if before(other, at):
                reason, at = other_reason, other
        figures["next_at"] = Figure(at)
        working += [(name, step) for name, step in (("last", last), ("every", every)) if step is not None]
        working.append(("next_at", at))
        remarks = [reason] + ["flush_overdue"] * (now is not None and before(at, now))
    unusual = usual("flush", volume=volume)
    return Outcome(figures, tuple(working), ("arithmetic",), (*remarks, *["unusual"] * bool(unusual)),
                   facts={"unusual": unusual})


def _due(
    every: Quantity | None, last: datetime | None, feed_started: datetime | None, feed_finish: datetime | None,
    next_feed: datetime | None, after_feed: bool,
) -> list[tuple[str, datetime]]:
    """Every time that the plan and the log give. The interval counts from the last flush or the feed's start."""
    due = []
    if every is not None and feed_started is not None:
        since = feed_started if last is None or before(last, feed_started) else last
        by_interval = later(since, every)
        if feed_finish is None or before(by_interval, feed_finish):
            due.append(("by_interval", by_interval))
    if after_feed and feed_finish is not None:
        due.append(("after_the_feed", feed_finish))
    if next_feed is not None:
        due.append(("before_the_feed", next_feed))
    return due
