"""Where the present feed stands, worked out from the log alone. Pure: the same events and `now`, the same state.

Nothing is guessed: a stretch at an unknown rate makes `given` unknown until somebody reads a volume off the pump.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime

from rules.clock import before, later
from rules.feed_log import KINDS, NO_TIME, NOTHING, Event, Tally
from rules.quantity import Quantity, qty
from rules.steps import Step, time_for

NEARLY = qty(15, "min")     # common practice, no source

__all__ = ["KINDS", "Event", "FeedState", "feed_state"]


@dataclass(frozen=True)
class FeedState:
    """notes: `rate_unknown` a stretch ran at no known rate; `bag_empty` the bag ran out first; `limit_reached`;
    `stated_above_limit` somebody read more than the volume limit, so look at what was set."""

    started: datetime | None = None
    feed: str | None = None
    running: bool = False
    paused_since: datetime | None = None
    stopped_at: datetime | None = None          # when it was stopped, or when the limit or the bag ended it
    given: Quantity | None = None               # mL; None where it is not known
    left: Quantity | None = None                # mL of the volume limit
    in_bag: Quantity | None = None              # mL, where what was poured is known
    limit: Quantity | None = None               # mL
    rate: Quantity | None = None                # mL/h in force now
    running_time: Quantity = NO_TIME            # pauses taken out
    paused_total: Quantity = NO_TIME
    ends_at: datetime | None = None             # when it will be through (running), or was (ended); None if paused
    last_flush: datetime | None = None
    set_changed: datetime | None = None
    hang_events: Mapping[str, datetime] = field(default_factory=dict)       # for rules.hang_limit.clock_start
    vomited: int = 0
    notes: tuple[str, ...] = ()


def feed_state(
    events: Iterable[Event], now: datetime, *, plan_rate: Quantity | None = None, plan_volume: Quantity | None = None,
    steps: Iterable[Step] = (), priming: Quantity | None = None,
) -> FeedState:
    """The latest feed that started by `now`. Events after `now` are not looked at.

    plan_rate mL/h, plan_volume mL and the ordered steps come from the care plan, priming mL from its equipment.
    A state without `started` means that the log holds no feed.
    """
    log = sorted((event for event in events if not before(now, event.at)), key=lambda event: event.at.timestamp())
    _pour_first(log)
    starts = [place for place, event in enumerate(log) if event.kind == "feed_started"]
    if not starts:
        return FeedState(last_flush=_last(log, "flushed"), set_changed=_last(log, "set_changed"))
    start = log[starts[-1]]
    poured, bag = _poured_before(log[:starts[-1]], priming)
    tally = Tally(start, plan_rate, plan_volume, tuple(steps), bag)
    hang = {"feed_started": start.at} | ({"poured": poured} if poured else {})
    for event in log[starts[-1] + 1:]:
        tally.run_to(event.at)
        emptied = _emptied(tally, event.at)
        _apply(tally, event)
        if event.kind == "poured" and emptied:  # onto what still hangs, the older milk's clock goes on
            hang = {"poured": event.at}
    tally.run_to(now)
    return _state(tally, start, now, hang, log)


def _emptied(tally: Tally, at: datetime) -> bool:
    """Had the bag run out by then, or all but a few minutes? No pump is exact, so the log's rest is none either."""
    rate = tally.rate(at)
    return tally.bag is not None and tally.bag <= (NOTHING if rate is None else (rate * NEARLY).to("mL"))


def _pour_first(log: list[Event]) -> None:
    """What was poured at the very time of a start was poured for it, in whatever order the two were told."""
    for place in range(1, len(log)):
        one, other = log[place - 1], log[place]
        if (one.kind, other.kind) == ("feed_started", "poured") and one.at == other.at:
            log[place - 1], log[place] = other, one


def _last(log: list[Event], kind: str) -> datetime | None:
    return next((event.at for event in reversed(log) if event.kind == kind), None)


def _poured_before(log: list[Event], priming: Quantity | None) -> tuple[datetime | None, Quantity | None]:
    """What was poured for this feed: since the feed before it ended or began. The set takes its share first."""
    pours: list[Event] = []
    for event in log:
        if event.kind in ("feed_started", "stopped"):
            pours = []
        elif event.kind == "poured":
            pours.append(event)
    if not pours:
        return None, None
    if any(event.volume is None for event in pours):
        return pours[0].at, None
    bag = sum((event.volume.to("mL") for event in pours if event.volume is not None), NOTHING)
    return pours[0].at, max(NOTHING, bag - (NOTHING if priming is None else priming.to("mL")))


def _apply(tally: Tally, event: Event) -> None:
    if event.kind == "poured":
        tally.bag = None if tally.bag is None or event.volume is None else tally.bag + event.volume.to("mL")
        if tally.ended is not None and tally.notes[-1:] == ["bag_empty"]:
            tally.ended = None                  # the feed goes on with the new fill
            tally.notes.pop()
        return
    if event.kind not in ("paused", "resumed", "stopped", "rate_changed"):
        return
    tally.read(event.volume)
    if event.kind == "paused" and tally.paused is None:
        tally.paused = event.at
    elif event.kind == "resumed":
        tally.paused = None
        tally.go_on(event.at)
    elif event.kind == "stopped" and (tally.ended is None or event.volume is not None):
        tally.ended, tally.paused = event.at, None
    if event.rate is not None and event.kind != "stopped":
        tally.stated = event.rate
    elif event.kind == "rate_changed" and event.rate is None:
        tally.stated, tally.plan_rate, tally.steps = None, None, ()       # changed, and nobody said to what


def _state(
    tally: Tally, start: Event, now: datetime, hang: Mapping[str, datetime], log: list[Event]
) -> FeedState:
    running = tally.ended is None and tally.paused is None
    left = None if tally.limit is None or tally.given is None else max(NOTHING, (tally.limit - tally.given).to("mL"))
    rate = tally.rate(now)
    ends = tally.ended
    vomited = sum(event.kind == "vomited" and not before(event.at, start.at) for event in log)
    if running and left is not None and rate is not None:
        ends = later(now, time_for(left, now, rate, tally.ahead))
    return FeedState(
        started=start.at, feed=start.feed, running=running, paused_since=tally.paused if tally.ended is None else None,
        stopped_at=tally.ended, given=tally.given, left=left,
        in_bag=None if tally.bag is None else tally.bag.to("mL"),
        limit=None if tally.limit is None else tally.limit.to("mL"), rate=rate, running_time=tally.running_time,
        paused_total=tally.paused_total, ends_at=ends, hang_events=dict(hang), vomited=vomited,
        notes=tuple(dict.fromkeys(tally.notes)), last_flush=_last(log, "flushed"),
        set_changed=_last(log, "set_changed"))
