"""A pause told by its length alone ("with that half hour we had him off"): as the log has it, or less from the run.

It was once taken for how long the feed had run.
"""

from __future__ import annotations

from dataclasses import replace

from assistant.household.logged_runs import in_all, pauses
from assistant.slots import Slots
from rules.clock import later
from rules.feed_state import Event
from rules.quantity import Quantity, qty

NEARLY = qty(5, "min")  # told a little otherwise than it was logged


def by_the_log(slots: Slots, off: Quantity | None) -> Quantity | None:
    """None where the log settles the pause: it holds one of that length, or it holds none and the feed is on.

    Where it holds others, or other numbers are told as well, the pause is left to the sum.
    """
    state, told = slots.night.state, list(slots.spoken.values())
    more = [s for s in slots.said.spoken if s not in told and s.amount.readings[0].kind not in ("day", "date")]
    if off is None or more or state is None or state.started is None:
        return off
    if known := pauses(slots.night):
        alike = any(abs(length - off) <= NEARLY for length in (*(p.length for p in known), in_all(known)))
        return None if alike else off
    changed = any(e.kind == "rate_changed" and e.at >= state.started for e in slots.night.events)
    if not state.running or changed or not off < state.running_time:
        return off
    begun, ended = Event(state.started, "paused"), Event(later(state.started, off), "resumed")
    slots.night = replace(slots.night, events=(*slots.night.events, begun, ended))
    slots.remarks.append("counted_as_told")
    return None
