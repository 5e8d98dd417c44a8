"""The running state in one look: given, left, end, discard time and next flush. Pure: plan, events and `now` only."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from rules.clock import before, later
from rules.feed_log import Event
from rules.feed_state import FeedState, feed_state
from rules.hang_limit import clock_start
from rules.quantity import Quantity


@dataclass(frozen=True)
class Running:
    """discard_at None: no hang limit is known, or nothing hangs; next_flush None: the plan orders none by the clock,
    or no feed runs. A time already past is given as it is: it is overdue."""

    state: FeedState
    discard_at: datetime | None = None
    next_flush: datetime | None = None


def running(
    events: Iterable[Event], now: datetime, *, hang_limit: Quantity | None = None, flush_every: Quantity | None = None,
    **plan: Any,
) -> Running:
    """The state at `now`. hang_limit h, flush_every h from the care plan; `plan` goes to rules.feed_state.

    What hangs is taken to hang until the feed is stopped by somebody or its amount is through.
    """
    log = tuple(events)
    state = feed_state(log, now, **plan)
    if state.started is None:
        return Running(state)
    hangs = state.stopped_at is None
    discard = later(clock_start(state.hang_events)[0], hang_limit) if hangs and hang_limit is not None else None
    flush = None
    if hangs and flush_every is not None:
        since = state.started
        if state.last_flush is not None and before(since, state.last_flush):
            since = state.last_flush
        flush = later(since, flush_every)
    return Running(state, discard, flush)
