"""The pauses and the length of the feed that runs by the log, or ran last. The sums are rules/feed_state.py's."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from assistant.night import Night
from rules.clock import between
from rules.quantity import Quantity


@dataclass(frozen=True)
class Pause:
    """`ended` None: it is still off."""

    begun: datetime
    ended: datetime | None
    length: Quantity


def pauses(night: Night) -> tuple[Pause, ...]:
    """Each time that the feed was off, in order. A stop that it went on again after was a pause too."""
    state = night.state
    if state is None or state.started is None:
        return ()
    begun: datetime | None = None
    found = []
    told = sorted((e for e in night.events if e.at <= night.now), key=lambda e: e.at.timestamp())
    for event in told:
        if event.at < state.started:
            continue
        if event.kind in ("paused", "stopped") and begun is None:
            begun = event.at
        elif event.kind == "resumed" and begun is not None:
            found.append(Pause(begun, event.at, between(begun, event.at)))
            begun = None
    if begun is not None and state.paused_since is not None:
        found.append(Pause(begun, None, between(begun, night.now)))
    return tuple(found)


def in_all(found: tuple[Pause, ...]) -> Quantity:
    """All the pauses together."""
    return sum((p.length for p in found[1:]), found[0].length)
