"""The day's feeds by the log, one after the other. The sums are rules/feed_state.py's."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal

from assistant.night import Night, feed_time, feed_volume
from rules.feed_state import FeedState
from rules.flushes import Flushing, flushes_a_day
from rules.quantity import Quantity, number


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


def given_since(night: Night, since: datetime) -> Quantity | None:
    """What went in since then, of a feed that was on at that time what came after it; None where it is not known."""
    total = day_total(night, since)
    before = replace(night, now=since).state
    if before is None or before.started is None or not before.running:
        return total
    starts = [e.at for e in night.events if e.kind == "feed_started" and since <= e.at <= night.now]
    until = min(starts) - timedelta(microseconds=1) if starts else night.now
    after = replace(night, now=until).state
    if after is None or after.given is None or before.given is None or (starts and total is None):
        return None
    rest = (after.given - before.given).to("mL")
    return rest if total is None else total + rest


def planned_day(night: Night) -> Quantity | None:
    """The plan's formula of one day; None where a feed's amount is not written."""
    amounts = [feed_volume(feed) for feed in night.feeds]
    known = [amount.to("mL") for amount in amounts if amount is not None]
    return sum(known[1:], known[0]) if known and len(known) == len(amounts) else None


def planned_flushes(night: Night) -> Decimal | None:
    """How many flushes the plan orders in a day; None without a plan or where it names no occasion."""
    plan = night.plan
    if plan is None or not (plan.flushes.when or plan.flushes.every):
        return None
    when, times = plan.flushes.when, [feed_time(feed) for feed in plan.feeds]
    flushing = Flushing(
        "before_feed" in when,
        "after_feed" in when,
        len(plan.feeds),
        (plan.flushes.medicines_a_day or 0) if "after_medicine" in when else 0,
        plan.flushes.every,
        tuple(t for t in times if t is not None) if plan.flushes.every is not None else (),
    )
    return number(flushes_a_day(flushing), "1")
