"""The log of one feed and the sums while it is read. Used by rules.feed_state alone."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rules.clock import before, between
from rules.quantity import Quantity, qty
from rules.steps import Step, after, finish_of, rate_at, stretches, time_for, volume_of

KINDS = ("feed_started", "paused", "resumed", "stopped", "rate_changed", "flushed", "poured", "vomited", "set_changed",
         "medicine_given")
NO_TIME, NOTHING = qty(0, "h"), qty(0, "mL")


@dataclass(frozen=True)
class Event:
    """One line of the feed log. `volume` is what the kind says: planned for feed_started, in the bag for poured,
    given so far for paused, resumed, rate_changed and stopped, water for flushed."""

    at: datetime
    kind: str
    volume: Quantity | None = None
    rate: Quantity | None = None
    feed: str | None = None


class Tally:
    """The sums while the log is read from the feed's start; thrown away at the end."""

    def __init__(self, start: Event, plan_rate: Quantity | None, limit: Quantity | None, steps: tuple[Step, ...],
                 bag: Quantity | None) -> None:
        self.at, self.plan_rate, self.stated, self.steps = start.at, plan_rate, start.rate, steps
        self.limit = start.volume if start.volume is not None else limit
        self.given: Quantity | None = NOTHING
        self.bag = bag                          # mL left in it; None where that is not known
        self.paused: datetime | None = None
        self.ended: datetime | None = None
        self.running_time, self.paused_total = NO_TIME, NO_TIME
        self.notes: list[str] = []

    @property
    def ahead(self) -> tuple[Step, ...]:
        """Ordered steps count only where nobody said which rate ran."""
        return self.steps if self.stated is None else ()

    def rate(self, at: datetime) -> Quantity | None:
        return self.stated if self.stated is not None else rate_at(self.steps, at, first=self.plan_rate)

    def room(self) -> Quantity | None:
        """What can still run: the rest of the limit or of the bag, whichever is less."""
        rests = [] if self.limit is None or self.given is None else [(self.limit - self.given).to("mL")]
        rests += [] if self.bag is None else [self.bag]
        return max(NOTHING, min(rests)) if rests else None

    def run_to(self, until: datetime) -> None:
        """Let time pass: running adds volume until the limit or the bag ends it, a pause adds to the pauses."""
        if self.ended is None and before(self.at, until):
            if self.paused is not None:
                self.paused_total = self.paused_total + between(self.at, until)
            else:
                self._run(until)
        self.at = until

    def _run(self, until: datetime) -> None:
        rate = self.rate(self.at)
        if rate is None:
            self._unknown(until)
            return
        ran, room = volume_of(stretches(self.at, until, rate, self.ahead)), self.room()
        if room is not None and ran >= room:
            self.ended = finish_of(room, self.at, rate, self.ahead)
            self.running_time = self.running_time + time_for(room, self.at, rate, self.ahead)
            limit_first = self.limit is not None and self.given is not None and self.limit - self.given <= room
            self.notes.append("limit_reached" if limit_first else "bag_empty")
            ran = room
        else:
            self.running_time = self.running_time + between(self.at, until)
        self.given = None if self.given is None else self.given + ran
        self.bag = None if self.bag is None else self.bag - ran

    def _unknown(self, until: datetime) -> None:
        """Until the first ordered step, or all the way, nobody knows what ran."""
        known = next((since for since, _ in after(self.ahead, self.at) if before(since, until)), until)
        self.running_time = self.running_time + between(self.at, known)
        self.given = self.bag = None
        self.notes.append("rate_unknown")
        self.at = known
        if before(known, until):
            self._run(until)

    def go_on(self, at: datetime) -> None:
        """Resumed after a stop that somebody made: the time in between was a pause. A full feed stays ended."""
        if self.ended is not None and not {"limit_reached", "bag_empty"} & set(self.notes):
            self.paused_total = self.paused_total + between(self.ended, at)
            self.ended = None

    def read(self, volume: Quantity | None) -> None:
        """Somebody read off how much has gone in: it replaces what was worked out."""
        if volume is None:
            return
        if self.limit is not None and volume > self.limit:
            self.notes.append("stated_above_limit")
            volume = self.limit
        self.given = volume.to("mL")
