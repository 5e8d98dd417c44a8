"""How long the bag lasts: what is in it, and the rate."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.gather._shared import (
    FINISH,
    LEFT,
    NOW,
    RATE,
    START,
    accuracy,
    check_entry,
    feed,
    now,
    priming,
    rate,
    share_gone,
    start,
    volume_of,
)
from assistant.slots import Ask, Slots, size_of

FULL_BAG = (r"(?:a |the |one )?(?:full|whole|fresh|new|brand new) (?:bag|pouch|bottle|one|container|pack)",)


def volume(slots: Slots) -> Any:
    """What is in the bag: said, a full one by its size, or what the log leaves in it."""
    found = slots.get("volume")
    if found is not None:
        of = feed(slots)
        check_entry(slots, "volume", found, volume_of(slots, of))
        return found
    if slots.said.has(*FULL_BAG):
        return slots.fill("volume", size_of("bag", slots.night), "care plan")
    state = slots.night.state
    if state is not None and state.running and state.left is not None:
        return slots.fill("volume", state.left, "feed log")
    return None


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(volume=LEFT, rate=RATE, start=START, now=NOW, finish=FINISH)
    share_gone(slots)
    hangs = volume(slots)
    if hangs is None:
        raise Ask("volume")
    runs_at = rate(slots)
    if runs_at is None:
        raise Ask("rate")
    begins = start(slots, when="future")
    return {
        "volume": hangs,
        "rate": runs_at,
        "priming": priming(slots),
        "start": begins or now(slots),
        "accuracy": accuracy(slots),
    }
