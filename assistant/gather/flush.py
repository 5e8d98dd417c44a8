"""How much water a flush is, and when the next one is due."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.gather._shared import check_entry
from assistant.gather._when import now, planned_start
from assistant.night import feed_time
from assistant.numbers.wants import Ask, Used, Want
from assistant.slots import Slots
from rules.clock import before, between, later
from rules.quantity import qty

WHEN_DUE = ("when", "whens", "what time", "due", "how long (?:till|until|before)", "how soon")


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(
        last=Want("clock", ("last_done", "start", "opened")),
        flush=Want("volume", ("flush", "total")),
        every=Want("time", ("every",), bare=False),
    )
    night, plan, state = slots.night, slots.night.plan, slots.night.state
    flush = slots.get("flush")
    if plan is not None and plan.flushes.volume is not None:
        if flush is not None:
            check_entry(slots, "flush", flush, plan.flushes.volume)
        slots.used["flush"] = Used(plan.flushes.volume, "care plan")
        flush = plan.flushes.volume
    if flush is None:
        raise Ask("flush")
    _only_now(slots)
    last = slots.instant("last", "past")
    by_log = state.last_flush if state is not None else None
    if last is not None and by_log is not None and before(last, by_log) and _of_the_feed(slots):
        slots.used.pop("last")  # "it is running since three": the feed, and the log holds a flush after that
        last = None
    if last is None and state is not None and state.last_flush is not None:
        last = slots.fill("last", state.last_flush, "feed log")
    every = slots.get("every")
    if every is None and plan is not None:
        every = slots.fill("every", plan.flushes.every, "care plan")
    if last is None and every is not None and slots.said.has(*WHEN_DUE):
        raise Ask("last")
    while every is not None and last is not None and "last" in slots.spoken and _of_the_feed(slots) and before(
        later(last, every), now(slots)
    ):
        last = later(last, every)  # counted on from the feed's start: which of them were given, nobody said
    when = plan.flushes.when if plan else frozenset()
    started, finish = (state.started, state.ends_at) if state is not None and state.running else (None, None)
    nexts = [s for s in (planned_start(slots, f) for f in night.feeds) if s is not None and s > night.now]
    if started is None and plan is not None and last is not None and every is not None:
        started, finish = _by_the_plan(slots)
    if last is not None and every is not None and slots.has("every") and slots.used["every"].origin == "question":
        started, finish = last, later(last, every * 3)
    return {
        "volume": flush,
        "every": every,
        "last": last,
        "feed_started": started,
        "feed_finish": finish,
        "next_feed": min(nexts) if nexts else None,
        "before_feed": "before_feed" in when,
        "after_feed": "after_feed" in when,
        "now": now(slots),
    }


def _only_now(slots: Slots) -> None:
    """ "Two o'clock round, when's the next water due?", at two: an hour that no word calls a flush's is the hour."""
    told, state = slots.spoken.get("last"), slots.night.state
    known = state is not None and state.last_flush is not None
    if told is None or not known or max(told.roles.get(r, 0.0) for r in ("last_done", "start", "opened")) > HINTED:
        return
    at = slots.instant("last", "past")
    if at is not None and between(at, now(slots)) <= AT_ONCE:
        del slots.used["last"]
        slots.spoken["hour"] = slots.spoken.pop("last")


AT_ONCE = qty(10, "min")
HINTED = 0.3  # how strongly a word speaks for a role


def _of_the_feed(slots: Slots) -> bool:
    """Is the time told the feed's own start, and no flush's?"""
    roles = slots.spoken["last"].roles if "last" in slots.spoken else {}
    return roles.get("start", 0.0) > roles.get("last_done", 0.0)


def _by_the_plan(slots: Slots) -> tuple[Any, Any]:
    """The feed that is on by the plan's clock, where the log holds none."""
    for feed in slots.night.feeds:
        length, begins = feed_time(feed), planned_start(slots, feed)
        if length is not None and begins is not None and begins <= slots.night.now < later(begins, length):
            return begins, later(begins, length)
    return None, None
