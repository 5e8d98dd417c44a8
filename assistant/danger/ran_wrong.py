"""A rate that ran and was not the one meant ("typed 550 not 55, and it ran since two"): too fast, said outright."""

from __future__ import annotations

from assistant.danger.frames import frames
from assistant.danger.here_and_now import pattern, told

CARD = "overfeed"
TOO_FAST = 1.5  # times the rate that was meant


def ran_too_fast(text: str) -> bool:
    """Has the feed run too fast, or at a rate far above the one meant? Only where it is told, never put as a case."""
    if told("not_yet_run", text):
        return False
    if told("ran_fast", text) and "?" not in text and not frames(text):
        return True  # "he's been running at 95 all night, too fast"
    if not told("it_ran", text):
        return False
    return any(
        float(met["ran"]) >= TOO_FAST * float(met["meant"]) > 0 for met in pattern("set_for_another").finditer(text)
    )
