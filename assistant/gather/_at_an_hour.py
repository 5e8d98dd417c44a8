"""What the log makes of another hour: "what will be left at seven", "how much had gone in by three last night"."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime

from assistant.hear.clock import resolve
from assistant.numbers.no_start import of_no_start
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used
from assistant.slots import Slots
from rules.clock import before
from rules.feed_state import FeedState

_REST = r"(?:left|remaining|over|to go|still in|in (?:it|there|the (?:bag|bottle|drip)))"
LATER_ON = (
    r"will there be",
    r"(?:what|how much)(?:'ll| will| would) (?:it|that|there|she|he)(?:'ll)? be",
    r"by then", r"by the time", r"by that time",
    rf"(?:will|would|\w+'ll|\w+'d|should|might|going to|gonna)(?: \w+){{0,4}} {_REST}",
    rf"(?:be|have) (?:\w+ ){{0,2}}{_REST} (?:\w+ ){{0,2}}(?:at|by|when|come|for)",
)
HAD_BY = re.compile(  # up to the hour: "how much had it passed at", "where was it up to by"
    r"\b(?:how (?:much|many|far)|what|where)\b[^.,;?]* ?\b(?:had|was|were|did)\b[^.,;?]* (?:at|by|come|around|about)$"
)
LEFT_THEN = re.compile(
    r"\b(?:how (?:much|many|far)|what)\b[^.,;?]* ?\b(?:was|were|had|did)\b[^.,;?]*\b(?:left|remaining|to go|to come)\b"
    r"[^.,;?]* (?:at|by|come|around|about)$"
)
NOT_THIS = (r"start\w*", r"began", r"since", r"from", r"off", r"stopp?\w*", r"paus\w*", r"hung", r"hang\w*", r"between",
            r"poured", r"owed", r"behind", r"short", r"miss\w*", r"back", r"rate", r"speed", r"set to")


def in_an_hour(slots: Slots) -> FeedState | None:
    """ "I come at half seven, what will be left by then?": the feed as it will stand, if nothing stops it."""
    state, at = slots.night.state, _one_hour(slots, "future")
    if state is None or not state.running or at is None:
        return None
    if not slots.said.has(*LATER_ON) and slots.day() != "tomorrow":  # "what's in it at eight tomorrow morning"
        return None
    then = _then(slots, state, at)
    slots.remarks += ["by_then"] * (then is not None)
    return then


ALONE = re.compile(
    r"(?:(?:and|or|so|then|ok|okay|what about|how about) )*(?:at|by|around|about|come)?(?: about| around)?"
)


def _alone(slots: Slots) -> None:
    """ "And at six?", of a feed that runs by the log: one gone by or to come, and no start. Which is asked."""
    state, told = slots.night.state, _told(slots)
    if state is None or not state.running or len(told) != 1:
        return
    if told[0].reading("clock") and ALONE.fullmatch(told[0].before) and not told[0].after:
        raise Ask("which_number", code="unclaimed", numbers=told[0].amount.text)


def at_that_hour(slots: Slots, *, left: bool = False) -> FeedState | None:
    """ "How much had it passed at three in the morning?", "what was left at two": the feed as it stood, while on."""
    _alone(slots)
    state, at = slots.night.state, _one_hour(slots, "past")
    if state is None or state.started is None or at is None or before(at, state.started):
        return None
    heard, told = slots.said.heard, _told(slots)[0]
    if told.before.endswith("since"):
        return None  # "since two": from then on
    up_to_it = " ".join(heard.tokens[: told.amount.start]).lower()
    if bool(LEFT_THEN.search(up_to_it)) != left or not HAD_BY.search(up_to_it) or slots.said.has(*NOT_THIS):
        return None
    return _then(slots, state, at)


AT = re.compile(r"(?:^|\b(?:at|by|come|around|about|till|until))(?: about| around)?$")
ASKED_THERE = re.compile(
    r"\b(?:how (?:much|many|far)|what(?:'s|s)?|where(?:'s|s)?)\b(?!.*\b(?:drop|turn|chang|put|set)\w*)"
)
TO_COME = (r"will", r"would", r"\w+'ll", "gonna", "going to", "when", "by then", "be")


def as_of(slots: Slots, *, left: bool = False) -> FeedState | None:
    """ "What would he have had at 7?", "whats in him at midnight": as it stood then, or will if nothing stops it.

    Of a feed that runs by the log; None where the hour may be a start, or is not of this run.
    """
    state, told = slots.night.state, _told(slots)
    if state is None or not state.running or state.started is None or len(told) != 1 or slots.said.has(*NOT_THIS):
        return None
    clause = re.split(r"[.;!?,]", told[0].before)[-1]
    if not AT.search(told[0].before) or not ASKED_THERE.search(clause):
        return None
    if not of_no_start(told[0], slots.said.heard, asked=False):
        return None
    gone, ahead = _one_hour(slots, "past"), _one_hour(slots, "future")
    if gone is None or ahead is None:
        return None
    ahead_meant = before(gone, state.started) or slots.said.has(*TO_COME)
    then = _then(slots, state, ahead if ahead_meant else gone, of_all=left)
    slots.remarks += ["by_then"] * (then is not None and ahead_meant)
    return then


def log_till(slots: Slots) -> FeedState | None:
    """Up to an hour, of a feed of the log: each of its rates for its own time, not the present one for all of it."""
    by, begun = slots.get("by"), slots.used.get("start")
    if not isinstance(by, datetime) or begun is None or begun.origin != "feed log" or "rate" in slots.used:
        return None
    then = replace(slots.night, now=by).state
    if then is None or then.given is None or all(e.kind != "rate_changed" for e in slots.night.events):
        return None
    slots.fill("given", then.given, "feed log")
    return then


def _one_hour(slots: Slots, when: str) -> datetime | None:
    """The one number that is told, where that is an hour."""
    told = _told(slots)
    reading = told[0].reading("clock") if len(told) == 1 else None
    return resolve(reading, slots.night.now, when, slots.day())[0] if reading is not None else None


def _told(slots: Slots) -> list[Spoken]:
    return [s for s in slots.said.spoken if s.amount.readings[0].kind not in ("day", "date")]


def _then(slots: Slots, state: FeedState, at: datetime, *, of_all: bool = True) -> FeedState | None:
    then = replace(slots.night, now=at).state
    if then is None or then.started != state.started or then.given is None or (of_all and then.limit is None):
        return None
    spoken = _told(slots)[0]
    slots.spoken["at_hour"] = spoken
    slots.used["at_hour"] = Used(at, "question", spoken.amount.text)
    slots.fill("given", then.given, "feed log")
    return then
