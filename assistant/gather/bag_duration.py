"""How long the bag lasts: what is in it, and the rate."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.gather._bag import GIVEN, given_so_far, left_by_log, priming, share_gone
from assistant.gather._counts import poured, told_by_number
from assistant.gather._relative import by_so_much
from assistant.gather._shared import FINISH, LEFT, NOW, RATE, START, accuracy, feed, rate, said_volume
from assistant.gather._when import counts_from_now, now, start
from assistant.numbers.wants import Ask, size_of
from assistant.slots import Slots

FULL_BAG = (r"(?:a |the |one )?(?:full|whole|fresh|new|brand new) (?:bag|pouch|bottle|one|container|pack)",)


def volume(slots: Slots) -> Any:
    """What is in the bag: said, a full one by its size, or what the log leaves in it."""
    of = feed(slots)
    found = poured(slots) or given_so_far(slots, of) or said_volume(slots, of)
    found = told_by_number(slots) if found is None else found
    if found is None and slots.said.has(*FULL_BAG):
        return slots.fill("volume", size_of("bag", slots.night), "care plan")
    return left_by_log(slots) if found is None else found


def _either_way_round(slots: Slots) -> None:
    """ "Eighty and a hundred": which is the rate, where either can be and no word says it?"""
    hangs, runs = slots.spoken.get("volume"), slots.spoken.get("rate")
    if hangs is None or runs is None or any(
        s.amount.readings[0].kind != "number" or max(s.roles.values(), default=0.0) > PLAINLY for s in (hangs, runs)
    ):
        return
    value, ordered = hangs.amount.readings[0].value, slots.night.ordered_rates
    joined = hangs.after == "and" or hangs.before == "and"
    if joined and any(value <= AS_FAST * rate for rate in ordered):
        raise Ask("which_number", slot="rate", numbers=f"{runs.amount.text}, {hangs.amount.text}")


PLAINLY = 0.35
AS_FAST = Decimal("1.7")  # times an ordered rate, which a bare number may still be


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(volume=LEFT, given=GIVEN, rate=RATE, start=START, now=NOW, finish=FINISH)
    by_so_much(slots)
    _either_way_round(slots)
    share_gone(slots)
    hangs = volume(slots)
    if hangs is None:
        raise Ask("volume")
    runs_at = rate(slots)
    if runs_at is None:
        raise Ask("rate")
    begins = counts_from_now(slots, start(slots, when="nearest"))
    return {
        "volume": hangs,
        "rate": runs_at,
        "priming": priming(slots),
        "start": begins or now(slots),
        "accuracy": accuracy(slots),
    }
