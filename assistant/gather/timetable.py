"""The day's feeds, flushes, set changes and discard times in order."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from assistant.gather.discard_at import hanging_limit
from assistant.household.care_plan import CarePlan, Feed
from assistant.night import feed_volume, rate_on, time_on
from assistant.numbers.wants import Ask
from assistant.slots import Slots
from rules import figures
from rules.calculators.timetable import DayFeed
from rules.clock import later


def gather(slots: Slots) -> Mapping[str, Any]:
    plan, night = slots.night.plan, slots.night
    if plan is None or not any(f.start for f in plan.feeds):
        raise Ask("start")
    morning = night.now.replace(hour=0, minute=0, second=0, microsecond=0)
    if slots.day() == "tomorrow":
        morning = morning + timedelta(days=1)
    evening = slots.said.has("tonight", "tonight's", "night's", "overnight", "evening")
    first = morning.replace(hour=12) if evening and all(f.start and f.start.hour >= 16 for f in plan.feeds) else morning
    timed = [f for f in plan.feeds if f.start is not None]
    days = [day_feed(f, morning + timedelta(days=d), plan) for d in (-1, 0, 1) for f in timed]
    when, fixed = plan.flushes.when, figures.feeding_set()
    return {
        "feeds": [d for d in days if d.finish is None or d.finish > first],
        "day_start": first,
        "day_end": first + timedelta(days=1),
        "flush": plan.flushes.volume,
        "every": plan.flushes.every,
        "before_feed": "before_feed" in when,
        "after_feed": "after_feed" in when,
        "hang_limit": hanging_limit(slots)[0] if plan.formula.form else None,
        "set_limit": fixed.value,
        "set_changed": night.state.set_changed if night.state else None,
        "sources": ("care-plan",),
    }


def day_feed(feed: Feed, day: datetime, plan: CarePlan | None = None) -> DayFeed:
    """One feed on one day; with its plan, at the rate that is ordered by then, without an end where a step moves it."""
    assert feed.start is not None
    starts = datetime.combine(day.date(), feed.start, tzinfo=day.tzinfo)
    length = time_on(feed, plan, starts)
    return DayFeed(
        name=feed.name,
        start=starts,
        finish=later(starts, length) if length is not None else None,
        method=feed.method,
        volume=feed_volume(feed),
        rate=rate_on(feed, plan, starts) if feed.method == "pump" else None,
    )
