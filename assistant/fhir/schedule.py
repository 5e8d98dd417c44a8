"""One administration of an order: how much or how fast, and when. What a care plan cannot hold is refused by name."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal

from assistant.fhir.reading import Leaves, NotAnOrder, shown
from assistant.fhir.units import Measured, measured, per_hour
from knowledge.library import table

DAY = 1440
MOST_A_DAY = 24


@dataclass(frozen=True)
class Given:
    """One administration.

    start     first instant with its offset, as written; None where the order names only a day, or nothing
    day       the day it begins
    every     minutes from one feed to the next, where the times follow from the start
    a_day     feeds in a day, where the order does not say at what times
    clocks    times of day that the order names itself (local time, FHIR Timing.timeOfDay)
    minutes   how long one feed runs
    """

    where: str
    start: datetime | None
    day: date | None
    every: int | None
    a_day: int | None
    clocks: tuple[time, ...]
    minutes: Decimal | None
    volume: Measured | None
    rate: Measured | None

    @property
    def continuous(self) -> bool:
        """A rate from a moment on, without an end."""
        return self.rate is not None and self.volume is None and self.every is None and self.minutes is None \
            and not self.clocks and self.a_day is None

    @property
    def count(self) -> int:
        """Feeds in a day."""
        return len(self.clocks) or self.a_day or (DAY // self.every if self.every else 1)


def given(leaves: Leaves, new: bool, n: int) -> Given:
    """The n-th administration (from 0). Raises NotAnOrder."""
    path = ("enteralFormula", "administration", n)
    timing: tuple[str | int, ...] = (*path, "schedule")
    if new and leaves.has(*path, "schedule"):
        if leaves.count(*path, "schedule", "timing") != 1:
            raise NotAnOrder("schedule", where=shown(timing))
        timing = (*path, "schedule", "timing", 0)
    repeat = (*timing, "repeat")
    start, day = _start(leaves, *repeat, "boundsPeriod", "start")
    every, a_day = _often(leaves, *repeat)
    volume = measured(leaves, *path, "quantity", measures=("volume",))
    ratio = per_hour(leaves, *path, "rateRatio")
    rate = measured(leaves, *path, "rateQuantity", measures=("rate",))
    if (volume is None and rate is None and ratio is None) or (rate and ratio):
        raise NotAnOrder("feed_without_amount", where=shown(path))
    found = Given(shown(path), start, day, every, a_day, _clocks(leaves, *repeat), _minutes(leaves, *repeat),
                  volume, rate or ratio)
    if left := leaves.unread(*path):        # anything more about when or how changes the feed: never passed over
        raise NotAnOrder("not_in_a_plan", where=left[0][0], said=left[0][1][:200])
    if (found.clocks and (every or a_day)) or (volume is None and found.count > 1 and found.minutes is None):
        raise NotAnOrder("schedule", where=shown(timing))
    return found


def _start(leaves: Leaves, *path: str | int) -> tuple[datetime | None, date | None]:
    text = leaves.text(*path)
    if not text:
        return None, None
    try:
        if re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", text):
            return None, date.fromisoformat(text)
        if re.fullmatch(r"[0-9-]{10}T[0-9:]{8}(\.[0-9]+)?(Z|[+-][0-9]{2}:[0-9]{2})", text):
            start = datetime.fromisoformat(text)
            if 1900 < start.year < 3000 and not start.second and not start.microsecond:
                return start, start.date()      # a plan's times of day are whole minutes
    except ValueError:
        pass
    raise NotAnOrder("malformed", where=shown(path))


def _often(leaves: Leaves, *path: str | int) -> tuple[int | None, int | None]:
    frequency, period, unit = (leaves.take(*path, name) for name in ("frequency", "period", "periodUnit"))
    if frequency is None and period is None and unit is None:
        return None, None
    lengths = table("fhir_codes")["time"]
    if not (isinstance(frequency, Decimal) and isinstance(period, Decimal) and isinstance(unit, str)
            and unit in lengths):
        raise NotAnOrder("schedule", where=shown(path))
    between = period * lengths[unit]["minutes"]
    if frequency == 1 and 0 < between <= DAY:
        if between != int(between) or DAY % int(between) or DAY // int(between) > MOST_A_DAY:
            raise NotAnOrder("times_shift", where=shown(path))
        return int(between), None
    if between == DAY and frequency == int(frequency) and 1 <= frequency <= MOST_A_DAY:
        return None, int(frequency)
    raise NotAnOrder("schedule", where=shown(path))


def _clocks(leaves: Leaves, *path: str | int) -> tuple[time, ...]:
    count = leaves.count(*path, "timeOfDay") if leaves.has(*path, "timeOfDay") else 0
    try:
        found = tuple(time.fromisoformat(leaves.text(*path, "timeOfDay", n)) for n in range(count))
    except ValueError:
        raise NotAnOrder("malformed", where=shown((*path, "timeOfDay"))) from None
    if any(clock.second or clock.microsecond or clock.tzinfo for clock in found) or len(set(found)) != len(found) \
            or len(found) > MOST_A_DAY:
        raise NotAnOrder("schedule", where=shown((*path, "timeOfDay")))
    return found


def _minutes(leaves: Leaves, *path: str | int) -> Decimal | None:
    duration, unit = (leaves.take(*path, name) for name in ("duration", "durationUnit"))
    if duration is None and unit is None:
        return None
    lengths = table("fhir_codes")["time"]
    known = isinstance(duration, Decimal) and isinstance(unit, str) and unit in lengths
    if not known or not 0 < duration * lengths[unit]["minutes"] <= DAY:
        raise NotAnOrder("schedule", where=shown((*path, "duration")))
    return duration * lengths[unit]["minutes"]
