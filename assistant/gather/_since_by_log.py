"""What went in since an hour that is told, of a feed that the log has on."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from assistant.message import Reading
from assistant.numbers.wants import Used
from assistant.slots import Slots

SAME = timedelta(minutes=10)  # told a little otherwise than it was logged


def since_by_log(slots: Slots) -> Any:
    """ "Since six this morning", of a feed that began before by the log: what it makes of now, less that of then."""
    state, reading = slots.night.state, slots.get("start")
    if state is None or state.started is None or reading is None or "rate" in slots.spoken or slots.has("by"):
        return None
    if not state.running:
        return None  # what began since is not in the log
    used = slots.used["start"]
    if isinstance(reading, Reading) and _its_own_start(reading, state.started):
        slots.used["start"] = Used(state.started, "question", used.words, used.in_words)
        return None  # "started at six like always": all of it
    since = slots.instant("start", "past")
    then = replace(slots.night, now=since).state if since is not None else None
    if then is None or then.started != state.started or then.given is None or state.given is None:
        slots.used["start"] = used
        return None
    return slots.fill("given", (state.given - then.given).to("mL"), "feed log")


def _its_own_start(reading: Reading, started: datetime) -> bool:
    """Is that hour, of either half of the day, the one at which the log has the feed begin?"""
    apart = (int(reading.value) - started.hour * 60 - started.minute) % (1440 if reading.unit == "24h" else 720)
    return reading.unit in ("12h", "24h") and min(apart, 1440 - apart, abs(720 - apart)) <= SAME.seconds // 60
