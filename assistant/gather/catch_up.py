"""How far behind a paused or missed feed is. Whether to make it up is the care team's to say."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from assistant.gather._shared import NOW, RATE, check_entry, feed, ordered_rate, rate, volume_of
from assistant.gather._when import now, planned_start
from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.night import feed_time
from assistant.slots import Slots
from assistant.wants import Ask, Want
from rules.clock import between, earlier, later
from rules.quantity import qty

MISSED_WHOLE = (
    r"forgot\w*",
    r"missed",
    r"skipp\w*",
    r"didn'?t (?:give|do|get|have)",
    r"never (?:gave|got|had)",
    r"without (?:his|her|their|the)",
)


RATE_TO_COME = (
    "from now on",
    "from here on",
    "from here",
    r"(?:doubl|tripl|rais|bump|increas|crank|push|turn|jack)\w* (?:it|him|her|the rate|the pump|up)",
)


def missed_time(slots: Slots) -> Any:
    """The time it was off: said, the sum of the log's pauses, or from one clock time to another."""
    off = slots.get("off")
    if off is not None:
        return off
    begun, ended = slots.instant("off_from", "past"), None
    if begun is not None:
        reading = slots.get("off_to")
        ended = (
            resolve(reading, begun + timedelta(minutes=1), "future", None)[0]
            if isinstance(reading, Reading)
            else now(slots)
        )
        return slots.fill("off", between(begun, ended), "question")
    state = slots.night.state
    if state is not None and state.paused_total is not None and state.paused_total.magnitude > 0:
        return slots.fill("off", state.paused_total.to("h"), "feed log")
    return None


def until(slots: Slots) -> datetime | None:
    plan = slots.night.plan
    if plan is None or plan.limits.catch_up is None or plan.limits.catch_up.until is None:
        return None
    at = plan.limits.catch_up.until
    return resolve(Reading("clock", at.hour * 60 + at.minute, "24h"), slots.night.now, "future", None)[0]


def allowed(slots: Slots) -> bool:
    """May a catch-up be worked out to a rate? Not without a written one, nor for an infant, jejunal feed or insulin."""
    night = slots.night
    return bool(
        night.plan
        and night.plan.limits.catch_up
        and not night.infant
        and not night.jejunal
        and not night.noted("insulin")
    )


def gather(slots: Slots) -> Mapping[str, Any]:
    rate_to_come = slots.said.has(*RATE_TO_COME)
    slots.assign(
        off=Want("time", ("off",) if rate_to_come else ("off", "over", "ago"), bare=False, told=rate_to_come),
        off_from=Want("clock", ("start", "opened", "clock_now")),
        off_to=Want("clock", ("finish",)),
        rate=RATE,
        given=Want("volume", ("given",), shy=0.2, told=True),
        missed=Want("volume", ("total", "left")),
        now=NOW,
    )
    if rate_to_come:
        for kept in (slots.used, slots.spoken):
            kept.pop("rate", None)  # the rate to come is not the one at which it was missed
    of, night = feed(slots), slots.night
    plan = night.plan
    highest = plan.limits.catch_up.highest_rate if plan and plan.limits.catch_up else None
    shared = {"now": now(slots), "until": until(slots), "highest": highest, "allowed": allowed(slots)}
    given, missed = slots.get("given"), slots.get("missed")
    off = missed_time(slots)
    runs_at = rate(slots)
    planned = volume_of(slots, of)
    if off is None and given is not None and (planned is not None or missed is not None):
        whole = missed if missed is not None else slots.fill("planned", planned, "care plan")
        return {"planned": whole, "given": given, "rate": runs_at, **shared}
    if off is None and missed is not None:
        check_entry(slots, "missed", missed, planned)
        return {"planned": missed, "given": qty(0, "mL"), "rate": runs_at, **shared}
    if off is None:
        return _without_a_time(slots, shared, planned, runs_at)
    if runs_at is None:
        raise Ask("rate")
    return {"missed_time": off, "rate": runs_at, "planned_finish": _planned_finish(slots), **shared}


def _without_a_time(slots: Slots, shared: dict[str, Any], planned: Any, runs_at: Any) -> Mapping[str, Any]:
    state, of = slots.night.state, feed(slots)
    if planned is not None and slots.said.has(*MISSED_WHOLE) and slots.night.feeds_named(slots.said.heard.text):
        slots.fill("planned", planned, "care plan")
        return {"planned": planned, "given": qty(0, "mL"), "rate": runs_at, **shared}
    if state is not None and state.given is not None and planned is not None:
        slots.fill("given", state.given, "feed log")
        should = planned
        begins = planned_start(slots, of) if of is not None else None
        if state.running and begins is not None and runs_at is not None:  # still on: behind what the plan has by now
            hours = max(qty(0, "h"), between(begins, shared["now"]))
            ordered = ordered_rate(slots)
            should = min(planned, ((ordered if ordered is not None else runs_at) * hours).to("mL"))
        slots.fill("planned", should, "care plan")
        return {"planned": should, "given": min(state.given, should), "rate": runs_at, **shared}
    raise Ask("off")


def _planned_finish(slots: Slots) -> datetime | None:
    """When the feed would have ended had it not stopped."""
    of, state = feed(slots), slots.night.state
    if state is not None and state.running and state.ends_at is not None:
        return earlier(state.ends_at, state.paused_total)
    length = feed_time(of) if of else None
    begins = planned_start(slots, of) if of else None
    return later(begins, length) if begins and length is not None else None
