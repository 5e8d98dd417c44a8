"""A feed of the log that is put on again, told or supposed: what had gone in before counts; no whole feed begins."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from assistant.household.care_plan import Feed
from assistant.numbers.wants import Ask
from assistant.slots import Slots
from rules.clock import before
from rules.feed_state import Event, FeedState
from rules.quantity import Quantity

BACK_ON = (
    r"(?:back|on|up|going|running|run|start|started|starts) again",
    r"back (?:on|up|to it|going|running)",
    r"re-?(?:start|connect|hook|attach)\w*",
    r"resum\w*",
    r"un-?paus\w*",
    r"carr(?:y|ies|ied) on",
    r"continu\w*",
    r"(?:get|put|hook|plug|turn|switch|set|pop)\w* (?:it|him|her|me|them|the \w+|\w+) back",
    r"goes? back",
)
JUST_OFF = (  # told to have gone off at this moment
    r"(?:just|only just|just now|right now) (?:\w+ ){0,2}?(?:paused|stopped|unhooked|unplugged|disconnected|took"
    r"|taken|off|switched|turned|pulled|come off|came off)",
    r"(?:paused|stopped|unhooked|unplugged|disconnected|off|switched off|turned off) (?:\w+ ){0,2}?"
    r"(?:just now|right now|this minute|now)",
)
SOON = timedelta(hours=6)  # after a stop; later than that it is rather the next feed (common practice, no source)


def back_on(slots: Slots, at: datetime | None, of: Feed | None) -> FeedState | None:
    """The feed of the log as it stands at `at`, when it is on again; None where the words mean no such restart.

    Raises Ask where the log has it running, so that it is not known since when it was off.
    """
    state = slots.night.state
    if at is None or state is None or state.started is None or not before(state.started, at):
        return None
    if of is not None and state.feed not in (None, of.name):
        return None
    again = slots.said.has(*BACK_ON)
    if state.running and again:
        if not slots.said.has(*JUST_OFF) or before(at, slots.night.now):
            raise Ask("off", code="off_since", clash=_on_since(slots, state.started))
        return replace(state, paused_since=slots.night.now)
    if state.paused_since is not None and not before(at, state.paused_since):
        return _resumed(slots, at) if again or not slots.day() else None
    if state.stopped_at is None or "limit_reached" in state.notes or before(at, state.stopped_at) or not again:
        return None
    return _resumed(slots, at) if at - state.stopped_at <= SOON else None


def _resumed(slots: Slots, at: datetime) -> FeedState | None:
    events = (*slots.night.events, Event(at, "resumed"))
    return replace(slots.night, events=events, now=max(at, slots.night.now)).state


def left_when_back_on(slots: Slots, at: datetime, of: Feed | None) -> Quantity | None:
    """What is left of the feed when it goes on again at that time; None where no such restart is meant."""
    again = back_on(slots, at, of)
    if again is None:
        return None
    then = again if before(slots.night.now, at) else replace(slots.night, now=at).state
    if then is None or then.left is None:
        raise Ask("volume")
    left: Quantity = slots.fill("volume", then.left, "feed log")
    return left


def _on_since(slots: Slots, started: datetime) -> datetime:
    on = [e.at for e in slots.night.events if e.kind in ("feed_started", "resumed") and e.at <= slots.night.now]
    return max((at for at in on if not before(at, started)), default=started)
