"""Does a new entry fit the log, as it stood at that time? What does not fit is asked about, never guessed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any

from rules.clock import before
from rules.feed_log import Event
from rules.feed_state import feed_state

TWICE = timedelta(minutes=2)  # the same thing told again so soon after may be one thing (common practice, no source)
ONE_AT_A_TIME = ("flushed", "poured", "medicine_given", "set_changed")


def misfit(events: Iterable[Event], new: Event, **plan: Any) -> tuple[str, datetime | None] | None:
    """Why `new` does not fit, and the entry's time that it clashes with; None where it fits.

    Gives one of: `no_start` nothing had been started by then; `paused_already`; `not_paused`; `ended_already`;
    `running_already` a feed was on then; `twice` the same kind and amount within two minutes.
    `plan` is what rules.feed_state.feed_state takes from the care plan. Pure: no clock is read.
    """
    events = tuple(events)
    if new.kind in ONE_AT_A_TIME:
        same = [e for e in events if e.kind == new.kind and e.volume == new.volume and e.feed == new.feed]
        found = next((e.at for e in same if abs(e.at - new.at) <= TWICE), None)
        return None if found is None else ("twice", found)
    if new.kind not in ("feed_started", "paused", "resumed", "stopped", "rate_changed"):
        return None
    state = feed_state([e for e in events if not before(new.at, e.at)], new.at, **plan)
    if new.kind == "feed_started":
        return ("running_already", state.started) if state.started and state.stopped_at is None else None
    if state.started is None:
        return "no_start", None
    stopped = _stop_since(events, state.started, new.at)
    if new.kind == "resumed":
        return ("not_paused", _on_since(events, new.at)) if state.running else None
    if stopped is not None:
        return "ended_already", stopped
    if new.kind == "paused" and state.paused_since is not None:
        return "paused_already", state.paused_since
    return None


def _on_since(events: tuple[Event, ...], at: datetime) -> datetime:
    """When it was put on last."""
    return max((e.at for e in events if e.kind in ("feed_started", "resumed") and not before(at, e.at)),
               key=lambda put_on: put_on.timestamp())


def _stop_since(events: tuple[Event, ...], started: datetime, at: datetime) -> datetime | None:
    """When somebody stopped the feed (not: when it ran out), unless it was put on again."""
    found = None
    for event in sorted(events, key=lambda e: e.at.timestamp()):
        if not before(event.at, started) and not before(at, event.at):
            found = event.at if event.kind == "stopped" else None if event.kind == "resumed" else found
    return found
