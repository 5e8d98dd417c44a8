"""A feed that is to be stopped before its end: "if I take her off at 7, what does she miss?"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from assistant.gather._shared import feed, rate, volume_of
from assistant.gather._when import planned_start, start
from assistant.hear.clock import resolve
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used
from assistant.slots import Slots
from rules.clock import before, between
from rules.quantity import qty

JUST_GONE = timedelta(minutes=30)  # "if I turn it off at half four", said at 4:31
STOPS = re.compile(
    r"\b(?:if|when|suppos\w+|say)\b[^.;?!]*\b(?:stop\w*|(?:take|took|taking) (?:\w+ )?(?:off|down)|unhook\w*"
    r"|disconnect\w*|com(?:e|es|ing) off|go(?:es)? off|(?:turn|switch)\w* (?:\w+ )?off|pull\w*|off|finish\w*|end\w*"
    r"|cut (?:it )?short)"
    r"(?: (?:it|him|her|them|me|the (?:feed|pump)|off|early))*(?: (?:at|by|around|about|for))*$"
)


def stops_ahead(slots: Slots) -> Mapping[str, Any] | None:
    """What is planned (mL), what will have gone in by then, the rate, and that hour; None where no such stop is put.

    Ask where the start of the feed is not known.
    """
    told = [s for s in slots.said.spoken if s.reading("clock") is not None and STOPS.search(_up_to(slots, s))]
    if len(told) != 1:
        return None
    spoken = told[0]
    reading = spoken.reading("clock")
    assert reading is not None
    at, gone = (resolve(reading, slots.night.now, when, slots.day())[0] for when in ("future", "past"))
    at = gone if slots.night.now - gone <= JUST_GONE else at
    state, of = slots.night.state, feed(slots)
    slots.spoken["stop_at"] = spoken
    slots.used["stop_at"] = Used(at, "question", spoken.amount.text)
    if state is not None and state.running:
        then = replace(slots.night, now=at).state
        if then is None or then.given is None or state.limit is None:
            raise Ask("volume")
        slots.fill("planned", state.limit, "care plan")
        slots.fill("given", then.given, "feed log")
        return {"planned": state.limit, "given": min(then.given, state.limit), "rate": state.rate, "now": at}
    planned, runs_at = volume_of(slots, of), rate(slots)
    begun = _begun(slots, at)
    if planned is None or runs_at is None:
        raise Ask("rate" if runs_at is None else "volume")
    slots.fill("planned", planned, "care plan")
    given = min((runs_at * between(begun, at)).to("mL"), planned) if before(begun, at) else qty(0, "mL")
    slots.fill("given", given, "question")
    return {"planned": planned, "given": given, "rate": runs_at, "now": at}


def _up_to(slots: Slots, spoken: Spoken) -> str:
    return " ".join(slots.said.heard.tokens[: spoken.amount.start]).lower()


def _begun(slots: Slots, at: datetime) -> datetime:
    """The start told before, or the plan's of a feed that is named and still to come."""
    told = start(slots, when="past") if "start" in slots.carried else None
    of = feed(slots)
    named = of is not None and of in slots.night.feeds_named(slots.said.heard.text)
    begun = told or (planned_start(slots, of) if of is not None and named else None)
    if begun is None or before(at, begun):
        raise Ask("start")
    return begun
