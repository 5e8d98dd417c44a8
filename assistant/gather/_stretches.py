"""Running times told in stretches, each at its own rate: "two hours at 80, then four at 60"."""

from __future__ import annotations

import re
from datetime import datetime
from itertools import accumulate, pairwise
from typing import Any

from assistant.gather._shared import NOW, feed
from assistant.gather._when import now
from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.night import feed_rate
from assistant.numbers.wants import Ask, measure
from assistant.slots import Slots
from rules.clock import before, between, later
from rules.quantity import qty
from rules.steps import rate_at
from rules.steps import stretches as rate_stretches

Stretches = tuple[tuple[Any, Any], ...]
FIRST = re.compile(r"\bfor (?:the |his |her |my )?(?:first|next|about|around)?$")
ABOUT = qty(10, "min")  # told a little otherwise than it was logged
PLAINLY = 0.9  # how plainly a number is said to be an amount
A_RATE = 0.5  # how plainly a bare number is said to be a rate


def by_length(slots: Slots) -> Stretches:
    """ "Two hours at eighty, then four at sixty": each rate with its time, in the order said."""
    rates: list[Any] = []
    times: list[Any] = []
    for spoken in slots.said.spoken:
        time = spoken.reading("time")
        if (
            time is None
            and times
            and len(rates) == len(times)
            and spoken.after == "at"
            and (bare := spoken.reading("number")) is not None
        ):
            time = Reading("time", bare.value, "h")  # "2.5 hours at 82 and then four at 80"
        fast = spoken.reading("rate") or (spoken.reading("number") if spoken.roles.get("rate", 0) > A_RATE else None)
        if time is not None:
            times.append(measure("time", time, slots.night))
        elif fast is not None:
            rates.append(measure("rate", fast, slots.night))
    return tuple(zip(rates, times, strict=True)) if len(rates) == len(times) > 1 else ()


def by_clock(slots: Slots, begun: datetime | None = None) -> Stretches:
    """ "112 from half nine till one, then 95": each rate from its hour to the next one's, the last until now.

    `begun`: when the feed of the log began, for "95 for the first two hours, then 110".
    Raises Ask where several rates are told and their hours do not make stretches that have gone by.
    """
    rates: list[Any] = []
    clocks, lengths = [], []
    for spoken in slots.said.spoken:
        if any(spoken.roles.get(role, 0.0) > PLAINLY for role in ("noise", "event", "went_off", "came_back")):
            continue
        clock = spoken.reading("clock") if spoken.amount.readings[0].kind == "clock" else None
        if (time := spoken.reading("time")) is not None and FIRST.search(spoken.before):
            lengths.append(measure("time", time, slots.night))
        elif clock is not None and spoken.roles.get("clock_now", 0.0) <= 0.9:
            clocks.append(clock)
        elif (fast := _a_rate(spoken.reading("rate", "number"), spoken.roles, slots)) is not None:
            rates += [fast] if fast not in rates[-1:] else []  # "up to 88, and it's been 88 since": said twice
    if len(rates) < 2:
        return ()
    present = now(slots)
    if not clocks and begun is not None and len(lengths) == len(rates) - 1:
        clocks = [Reading("clock", begun.hour * 60 + begun.minute, "24h")]
    if len(clocks) == 1 and len(lengths) == len(rates) - 1:  # "80 for the first two hours from half nine, then 95"
        begun = resolve(clocks[0], present, "past", None)[0]
        ends = [*accumulate(lengths, later, initial=begun), present]
        if all(before(one, other) for one, other in pairwise(ends)):
            return tuple((rate, between(*pair)) for rate, pair in zip(rates, pairwise(ends), strict=True))
    if len(clocks) not in (len(rates), len(rates) + 1):
        raise Ask("which_number", numbers=", ".join(f"{r.magnitude:f}" for r in rates))
    at = [resolve(clocks[0], present, "past", None)[0]]
    for clock in clocks[1:]:
        at.append(resolve(clock, at[-1], "future", None)[0])
    at = [*at, present] if len(clocks) == len(rates) else at
    if any(before(present, one) for one in at):
        raise Ask("which_number", numbers=", ".join(f"{r.magnitude:f}" for r in rates))
    return tuple((rate, between(at[i], at[i + 1])) for i, rate in enumerate(rates))


def by_clock_and_log(slots: Slots) -> Stretches:
    """The same of a feed that the log has on: the stretches told must be the whole of it, or it is asked about."""
    state = slots.night.state
    if state is None or state.started is None:
        slots.assign(now=NOW)
        return by_clock(slots)
    if not state.running or any(name.startswith("told_") for name in slots.spoken):
        return ()  # the log knows the rates
    several = by_clock(slots, state.started)
    ran = sum((length for _, length in several), qty(0, "h"))
    if several and abs(ran - between(state.started, slots.night.now)) > ABOUT:
        raise Ask("which_number", code="unclaimed", numbers=", ".join(s.amount.text for s in slots.said.spoken))
    return several


def _a_rate(reading: Reading | None, roles: dict[str, float], slots: Slots) -> Any:
    """A number that is a rate: said so, or near an ordered one and nothing else."""
    if reading is None:
        return None
    rate = roles.get("rate", 0.0)
    rival = max((roles.get(r, 0.0) for r in ("left", "given", "total", "hung")), default=0.0)
    ordered = reading.value in slots.night.ordered_rates and rival < PLAINLY
    near = any(0.5 <= float(reading.value / r) <= 1.7 for r in slots.night.ordered_rates)
    if reading.kind == "rate" or (near and rate >= rival - A_RATE) or ordered:
        return measure("rate", reading, slots.night)
    return None


def by_steps(slots: Slots, ran: Any) -> tuple[Any, ...]:
    """Each ordered rate with its time, where an ordered step came between the start said and the end."""
    begun, used = slots.get("start"), slots.used.get("rate")
    if not isinstance(begun, datetime) or used is None or used.origin != "care plan" or slots.night.plan is None:
        return ()
    steps, of = slots.night.plan.ordered_steps, feed(slots, by_pump=True)
    first = rate_at(steps, begun, first=feed_rate(of) if of is not None else None)
    found = rate_stretches(begun, later(begun, ran), first, steps) if first is not None else []
    return tuple(found) if len(found) > 1 else ()
