""" "If I drop it to 80 when is he off", right after how much went in: a question of its own, named outright."""

from __future__ import annotations

from assistant.dialogue import Talk
from assistant.follow.turns import pattern

#: what is named, and the questions that answer it already
NAMED = {
    "asks_the_end": frozenset({"finish_at", "bag_duration", "change_rate", "remaining", "catch_up", "start_by",
                               "rate_needed", "discard_at", "opened_until", "battery", "clock_change", "advance"}),
    "asks_behind": frozenset({"catch_up", "intake", "water"}),
    "asks_drip_rate": frozenset({"drops", "rate_needed", "convert"}),
    "asks_per_kilo": frozenset({"per_kg", "convert"}),
    "asks_whom": frozenset(),
    "asks_as_energy": frozenset({"energy", "intake"}),
}


def asks_another(text: str, talk: Talk) -> bool:
    """Is a question named that the sum just answered is none of? Never an answer to what was asked back."""
    if talk.asks is not None or talk.question is None:
        return False
    return any(talk.question not in answered and pattern(name).search(text) for name, answered in NAMED.items())
