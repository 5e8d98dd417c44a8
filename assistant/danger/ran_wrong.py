"""A rate that ran and was not the one meant ("typed 550 not 55, and it ran since two"): too fast, said outright."""

from __future__ import annotations

from assistant.danger.here_and_now import pattern, told

CARD = "overfeed"
TOO_FAST = 1.5  # times the rate that was meant


def ran_too_fast(text: str) -> bool:
    """Was a rate set that is far above the one meant, and has the feed run at it? Only told, never put as a case."""
    if not told("it_ran", text) or told("not_yet_run", text):
        return False
    return any(
        float(met["ran"]) >= TOO_FAST * float(met["meant"]) > 0 for met in pattern("set_for_another").finditer(text)
    )
