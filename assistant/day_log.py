"""The day's feeds by the log, one after the other. The sums are rules/feed_state.py's."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from assistant.night import Night
from rules.feed_state import FeedState
from rules.quantity import Quantity


def feeds_since(night: Night, since: datetime) -> list[FeedState]:
    """The state of each feed that began since then, as it stood when the next one began (or stands now)."""
    starts = [e.at for e in night.events if e.kind == "feed_started" and since <= e.at <= night.now]
    found = []
    for i, _ in enumerate(starts):
        until = starts[i + 1] - timedelta(microseconds=1) if i + 1 < len(starts) else night.now
        state = replace(night, now=until).state
        if state is not None:
            found.append(state)
    return found


def day_total(night: Night, since: datetime | None = None) -> Quantity | None:
    """What went in since then (default: the last 24 hours' feeds); None where a feed's amount is not known."""
    states = feeds_since(night, since or night.now - timedelta(hours=24))
    given = [s.given for s in states if s.given is not None]
    if not given or len(given) < len(states):
        return None
    return sum(given[1:], given[0])
