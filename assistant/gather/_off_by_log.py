"""A feed of the log that is off, or was: what is told of it ("off since ten", "down at four") held against it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from assistant.gather._shared import accuracy
from assistant.hear.clock import resolve
from assistant.household.logged_runs import pauses
from assistant.message import Reading
from assistant.numbers.wants import Used
from assistant.slots import Slots
from rules.clock import between
from rules.feed_state import Event, FeedState
from rules.quantity import Quantity

LAST_HOUR = 12  # a bare number up to here may be an hour
SAME = timedelta(minutes=10)  # told a little otherwise than it was logged
FOR_GOOD = (  # taken off before its end, and not to go on again
    r"early", r"for good", r"for the (?:day|night|morning)", r"ended", r"disconnect\w*", r"cut (?:\w+ )?short",
    r"(?:took|taken|had to take|brought|pulled) (?:\w+ ){1,2}(?:down|off (?:early|for good))", r"came down",
)
TAKEN_OFF = (  # at this moment, and no hour told
    r"(?:had|have|having) to (?:take|unhook|disconnect|pull|stop) (?:\w+ ){0,2}?(?:off|down|early|short)",
    r"(?:just|now|only just) (?:taken|took|unhooked|disconnected|pulled|stopped) (?:it|him|her|them|the \w+)"
    r"(?: off| down)?",
    r"(?:took|taken|pulled|cut) (?:it|him|her|them) (?:off )?(?:early|short)",
)
OF_ITSELF = frozenset({"limit_reached", "bag_empty"})


def on_again(slots: Slots, begun: datetime) -> datetime | None:
    """When the pause of the log that began then was over; None where the log has none, or it is still off."""
    return next((p.ended for p in pauses(slots.night) if abs(p.begun - begun) <= SAME), None)


ON_AT = re.compile(
    r"\b(?:restart\w*|back on|(?:start|put|get|switch|turn)\w*(?: (?:it|him|her|them|the \w+))?(?: back)?(?: on)? again"
    r"|going again|resum\w*|on again|(?:start|put|get)\w* (?:it|him|her) back)(?: (?:it|him|her|them|the \w+))?"
    r" (?:before|till?|until|at|by|about)(?: about)?$"
)


def off_until_on_again(slots: Slots) -> Quantity | None:
    """ "If I don't restart before two", while the log has it off: from its pause until then, with the pauses before."""
    state = slots.night.state
    if state is None or state.paused_since is None:
        return None
    for spoken in slots.said.spoken:
        bare, told = spoken.reading("number"), spoken.reading("clock")
        if told is None and bare is not None and 1 <= bare.value <= LAST_HOUR and bare.value == int(bare.value):
            told = Reading("clock", int(bare.value) * 60, "12h")
        if told is None or not ON_AT.search(spoken.before):
            continue
        at = resolve(told, slots.night.now, "future", None)[0]
        slots.spoken["on_again"] = spoken
        off: Quantity = (state.paused_total + between(slots.night.now, at)).to("min")
        slots.used["off"] = Used(off, "question", spoken.amount.text)
        return off
    return None


def ended_early(slots: Slots) -> bool:
    """Is a stop before the feed's end told, which the log has as one, or which the words call one? Then all of the
    rest is missing, and not only the time since. The sum goes on as if it stood in the log."""
    state = slots.night.state
    if state is None or state.started is None:
        return False
    if slots.get("off_from") is None:
        return state.running and slots.said.has(*TAKEN_OFF) and not slots.used and _stopped(slots, slots.night.now)
    if any(name in slots.used for name in ("off", "off_to", "given", "missed")):
        return False
    used = slots.used["off_from"]
    at = slots.instant("off_from", "past")
    if at is None or at <= state.started:
        return False
    if state.stopped_at is not None and not OF_ITSELF & set(state.notes) and abs(state.stopped_at - at) <= SAME:
        return True
    on = state.stopped_at is None and (state.paused_since is None or abs(state.paused_since - at) <= SAME)
    if not (on and slots.said.has(*FOR_GOOD)):
        slots.used["off_from"] = used
        return False
    return _stopped(slots, at)


def _stopped(slots: Slots, at: datetime) -> bool:
    slots.night = replace(slots.night, events=(*slots.night.events, Event(at, "stopped")))
    slots.remarks.append("counted_as_told")
    return True


def past_its_end(slots: Slots, missed: Quantity) -> bool:
    """Would the feed that is off be through by now? Then what is missing is its rest, and no more than that."""
    state: FeedState | None = slots.night.state
    if state is None or state.limit is None or state.given is None or state.left is None or missed < state.left:
        return False
    slots.fill("planned", state.limit, "feed log")
    slots.fill("given", state.given, "feed log")
    slots.used.pop("off", None)
    return True


def ended_as_logged(slots: Slots) -> Mapping[str, Any] | None:
    """ "How much did she get, I turned it off at one": the log has that stop, and what went in before it."""
    state, told = slots.night.state, [s for s in slots.said.spoken if s.amount.readings[0].kind not in ("day", "date")]
    if state is None or state.stopped_at is None or state.given is None or len(told) > 1 or slots.get("by") is None:
        return None
    used = slots.used["by"]
    at = slots.instant("by", "past")
    if at is None or abs(at - state.stopped_at) > SAME:
        slots.used["by"] = used
        return None
    slots.fill("given", state.given, "feed log")
    return {"given": state.given, "volume_limit": state.limit, "accuracy": accuracy(slots)}
