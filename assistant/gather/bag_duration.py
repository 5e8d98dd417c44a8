"""How long the bag lasts: what is in it, and the rate."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.gather._bag import FULL_BAG, GIVEN, given_so_far, left_by_log, new_closed_bag, priming, share_gone
from assistant.gather._counts import poured, told_by_number
from assistant.gather._left_now import counts_from_now
from assistant.gather._relative import by_so_much
from assistant.gather._shared import (
    FINISH,
    HANGS_NOW,
    LEFT,
    NOW,
    RATE,
    START,
    accuracy,
    feed,
    rate,
    said_volume,
    volume_of,
)
from assistant.gather._when import now, planned_start, start
from assistant.household.care_plan import Feed
from assistant.numbers.spoken import Spoken
from assistant.numbers.wants import Ask, Used, size_of
from assistant.slots import Slots
from rules.quantity import Quantity, number

ALL_OF_IT = (r"all (?:of )?(?:the|his|her|my|this) feed", r"(?:whole|entire|full|complete) (?:\w+ )?feed")
OF_A_BAG = (r"(?:bag|pouch|bottle|container|carton|pack|syringe)s?", *HANGS_NOW)


def volume(slots: Slots) -> Any:
    """What is in the bag: said, a full one by its size, or what the log leaves in it."""
    of = feed(slots)
    found = poured(slots) or given_so_far(slots, of) or said_volume(slots, of)
    found = told_by_number(slots) if found is None else found
    found = new_closed_bag(slots, of) if found is None else found
    if found is None and slots.said.has(*FULL_BAG):
        return slots.fill("volume", size_of("bag", slots.night), "care plan")
    found = left_by_log(slots) if found is None else found
    return _whole_feed(slots, of) if found is None else found


def _whole_feed(slots: Slots, of: Feed | None) -> Quantity | None:
    """ "What would happen to the overnight at 70", "the whole feed": all of one that is called by its name, its amount
    or so, from its planned start, where no bag is spoken of.

    Not where one runs by the log: what has gone in of it counts.
    """
    if of is None or "rate" not in slots.spoken or slots.night.running is not None or slots.said.has(*OF_A_BAG):
        return None
    whole = volume_of(slots, of)
    told = [s for s in slots.unused() if s.roles.get("total", 0.0) >= PLAIN and _of_amount(s, whole)]
    named = of in slots.night.feeds_named(slots.said.heard.text) or slots.said.has(*ALL_OF_IT)
    if not told and not named:
        return None
    if told:
        slots.spoken["volume"] = told[0]
        slots.used["volume"] = Used(whole, "question", told[0].amount.text)
    if "start" not in slots.spoken:
        slots.fill("start", planned_start(slots, of), "care plan")
    found: Quantity | None = slots.fill("volume", whole, "care plan")
    return found


def _of_amount(spoken: Spoken, whole: Quantity | None) -> bool:
    reading = spoken.reading("volume", "number")
    return whole is not None and reading is not None and Decimal(reading.value) == number(whole, "mL")


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


PLAIN, PLAINLY = 0.9, 0.35
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
