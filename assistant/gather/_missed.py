"""How long a feed was off, as it is told for what was missed: lengths of time, hours from and to, the log's pauses."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from assistant.gather._pauses import AGAIN, off_until_now
from assistant.gather._when import ends_after, now
from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.said import Spoken
from assistant.slots import Slots
from assistant.wants import Ask, Used, measure
from rules.clock import between


def off_till_now(slots: Slots) -> Any:
    """ "It sat doing nothing from eleven till now": the time since; another hour beside it is none of the pause's."""
    for spoken in slots.said.spoken:
        off = off_until_now(spoken, slots)
        if off is not None:
            slots.spoken["off"] = spoken
            slots.used["off"] = Used(off, "question", spoken.amount.text)
            return off
    return None


def missed_time(slots: Slots) -> Any:
    """The time it was off: said, the sum of the log's pauses, or from one clock time to another."""
    off = slots.get("off")
    if off is not None:
        return _with_further(slots, off)
    begun, ended = _from_before(slots) or slots.instant("off_from", "past"), None
    if begun is not None:
        ended = ends_after(slots, "off_to", begun + timedelta(minutes=1)) or now(slots)
        return _with_further(slots, slots.fill("off", between(begun, ended), "question"))
    state = slots.night.state
    if state is not None and state.paused_total is not None and state.paused_total.magnitude > 0:
        return slots.fill("off", state.paused_total.to("h"), "feed log")
    return None


def _from_before(slots: Slots) -> datetime | None:
    """ "From 1 until 3:30 a.m.": the half of the day that is said with the end is the beginning's too."""
    first, last = slots.get("off_from"), slots.get("off_to")
    if not (isinstance(first, Reading) and isinstance(last, Reading)) or (first.unit, last.unit) != ("12h", "24h"):
        return None
    end = slots.instant("off_to", "past")
    assert end is not None
    used = slots.used["off_from"]
    begun = resolve(first, end - timedelta(minutes=1), "past", None)[0]
    slots.used["off_from"] = Used(begun, used.origin, used.words, used.in_words)
    return begun


def _with_further(slots: Slots, off: Any) -> Any:
    """ "Half an hour for the bath and 20 minutes later on", "10 to 10.30 and again 1 to 1.20": all of it together."""
    first = slots.spoken.get("off")
    times = [s for s in slots.said.spoken if s is first or (s in slots.unused() and _is_time(s))]
    total, begun = off, None
    if first is not None and all(AGAIN.search(s.before) for s in times[1:]):
        for spoken in times:
            reading = spoken.reading("time")
            assert reading is not None
            total = total if spoken is first else total + measure("time", reading, slots.night)
            slots.spoken[f"off_{spoken.amount.start}"] = spoken
    for spoken in slots.unused() if first is None else ():
        clock = spoken.reading("clock")
        if clock is None:
            continue
        if begun is None:
            begun = resolve(clock, now(slots), "past", None)[0]
        else:
            total = total + between(begun, resolve(clock, begun + timedelta(minutes=1), "future", None)[0])
            begun = None
        slots.spoken[f"off_{spoken.amount.start}"] = spoken
    if begun is not None:
        raise Ask("off")
    if total is not off:
        slots.used["off"] = Used(total.to("min"), "question")
    return slots.used["off"].value


def _is_time(spoken: Spoken) -> bool:
    return spoken.amount.readings[0].kind == "time" and spoken.roles.get("noise", 0.0) <= 0.9
