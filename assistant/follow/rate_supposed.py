"""A sum that goes on from another rate that was asked about ("how much would be in by half five on that?")."""

from __future__ import annotations

from dataclasses import replace

from assistant.dialogue import Talk
from assistant.follow.turns import pattern
from assistant.message import Heard
from assistant.night import Night
from rules.feed_log import Event

OF_THE_RUN = ("delivered", "remaining", "intake", "energy", "finish_at")


def with_the_rate_put(name: str, heard: Heard, talk: Talk, night: Night) -> Night | None:
    """The night as it would be with that rate from now on; None where the words put no such case."""
    put, state = talk.slots.get("rate"), night.state
    after = talk.question == "change_rate" and talk.asks is None and (talk.last or {}).get("intent") == "change_rate"
    if not after or put is None or put.origin != "question" or state is None or not state.running:
        return None
    own = any(r.kind == "rate" for a in heard.amounts for r in a.readings[:1])
    if own or name not in OF_THE_RUN or not pattern("at_that_rate").search(heard.text.lower()):
        return None
    return replace(night, events=(*night.events, Event(night.now, "rate_changed", rate=put.value)))
