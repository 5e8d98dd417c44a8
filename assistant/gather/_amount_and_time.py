"""An amount and a length of time told together: the run of a feed, or one number too many."""

from __future__ import annotations

import re

from assistant.night import feed_volume
from assistant.numbers.wants import Ask, Used
from assistant.slots import Slots
from rules.quantity import qty

TO_GO = re.compile(r"(?:left|to go|remaining|to run)\b")


def feed_in_that_time(slots: Slots) -> None:
    """ "I'm doing her 180 at 12:25, over the usual twenty minutes": the feed of that amount, and no rate."""
    told = slots.spoken.get("rate")
    if told is None or "over" not in slots.spoken or "volume" in slots.spoken or told.reading("rate") is not None:
        return
    if any(feed_volume(f) == qty(told.amount.readings[0].value, "mL") for f in slots.night.feeds):
        slots.spoken["volume"] = slots.spoken.pop("rate")
        slots.used["volume"] = Used(qty(told.amount.readings[0].value, "mL"), "question", told.amount.text)
        del slots.used["rate"]


def one_too_many(slots: Slots) -> None:
    """An amount, a rate and a time; "5 hours 10 to go": minutes, or mL?"""
    if slots.has("over") and slots.has("volume") and slots.has("rate"):
        raise Ask("which_number", code="unclaimed", numbers=slots.spoken["over"].amount.text)
    over, volume = slots.spoken.get("over"), slots.spoken.get("volume")
    if over is not None and volume is not None and volume.amount.start == over.amount.end:
        raise Ask("which_number", numbers=f"{over.amount.text}, {volume.amount.text}")
