"""A rate that the care team raises in steps: which rate runs when, and how long a volume takes.

A step is `(instant, rate)`: from that instant on the rate is `rate`. The first rate runs until the first step.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from rules.clock import before, between, later
from rules.outcome import CannotAnswer
from rules.quantity import Quantity, qty

Step = tuple[datetime, Quantity]
Stretch = tuple[Quantity, Quantity]         # rate, running time


def rate_at(steps: Iterable[Step], at: datetime, first: Quantity | None = None) -> Quantity | None:
    """The rate in force at an instant; `first` before any step, None where nothing is known."""
    rate = first
    for since, stepped in sorted(steps, key=lambda step: step[0].timestamp()):
        if not before(at, since):
            rate = stepped
    return rate


def after(steps: Iterable[Step], at: datetime) -> tuple[Step, ...]:
    """Steps that come after an instant, in order."""
    return tuple(sorted((step for step in steps if before(at, step[0])), key=lambda step: step[0].timestamp()))


def stretches(start: datetime, finish: datetime, rate: Quantity | None, steps: Iterable[Step] = ()) -> list[Stretch]:
    """What ran from `start` to `finish`: each rate with its time. Refuses `missing` rate where none is known."""
    found: list[Stretch] = []
    at, running = start, rate
    for since, stepped in (*after(steps, start), (finish, None)):
        until = since if before(since, finish) else finish
        if before(at, until):
            if running is None:
                raise CannotAnswer("missing", name="rate")
            found.append((running, between(at, until)))
            at = until
        running = stepped if stepped is not None else running
    return found


def volume_of(parts: Iterable[Stretch]) -> Quantity:
    """Sum (mL) of rate times time."""
    return sum(((rate * time).to("mL") for rate, time in parts), qty(0, "mL"))


def time_for(volume: Quantity, start: datetime, rate: Quantity, steps: Iterable[Step] = ()) -> Quantity:
    """How long (h) `volume` takes from `start`, through every step on the way."""
    left, at, taken, running = volume.to("mL"), start, qty(0, "h"), rate
    for since, stepped in after(steps, start):
        span = between(at, since)
        if left <= (running * span).to("mL"):
            break
        left -= (running * span).to("mL")
        taken = taken + span
        at, running = since, stepped
    total: Quantity = taken + (left / running).to("h")
    return total


def finish_of(volume: Quantity, start: datetime, rate: Quantity, steps: Iterable[Step] = ()) -> datetime:
    """The instant at which the last of `volume` has run."""
    return later(start, time_for(volume, start, rate, steps))
