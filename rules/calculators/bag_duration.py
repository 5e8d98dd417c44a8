from __future__ import annotations

from datetime import datetime
from typing import Any

from rules.clock import later
from rules.limits import usual, within
from rules.outcome import CannotAnswer, Figure, Outcome
from rules.quantity import Quantity, qty
from rules.spread import time_spread


def bag_duration(
    *, volume: Quantity, rate: Quantity, priming: Quantity | None = None, start: datetime | None = None,
    now: datetime | None = None, accuracy: Quantity | None = None,
) -> Outcome:
    """How long what is in the bag lasts at this rate.

    Takes
        volume    mL    0.5 to 5000  left in the bag, or poured when `priming` is given
        rate      mL/h  0.1 to 1000  rate that the pump runs at
        priming   mL    0 to 200     held back by a dry set; None for a primed set or for what is left
        accuracy  %     0 to 50      of the pump, either way
        start     instant            when it starts
        now       instant            taken for the start where that is not given
    Gives
        duration   h                 with the shortest and longest by the pump's accuracy
        finish_at  instant           where a start is known
    Refuses
        beyond_possible              an amount outside its range, or no more in the bag than the set holds
    Remarks
        priming_taken_off            the set's volume was taken off first
        unusual                      facts `unusual` names the amounts that are seldom seen at home
    Source
        arithmetic                   a time is an amount divided by a rate
    """
    within("bag_duration", volume=volume, rate=rate, priming=priming, accuracy=accuracy)
    runs = volume.to("mL") if priming is None else (volume - priming).to("mL")
    if runs <= qty(0, "mL"):
        raise CannotAnswer("beyond_possible", name="volume", found=volume, low=priming, high=None)
    duration = (runs / rate).to("h")
    low, high = time_spread(duration, accuracy)
    figures = {"duration": Figure(duration, low, high)}
    begin = start or now
    if begin is not None:
        figures["finish_at"] = Figure(later(begin, duration), *(time and later(begin, time) for time in (low, high)))
    working: list[tuple[str, Any]] = [("volume", volume), ("rate", rate), ("duration", duration)]
    if priming is not None and priming > qty(0, "mL"):
        working[1:1] = [("priming", priming), ("runs", runs)]
    unusual = usual("bag_duration", volume=volume, rate=rate)
    remarks = ["priming_taken_off"] * (len(working) > 3) + ["unusual"] * bool(unusual)
    return Outcome(figures, tuple(working), ("arithmetic",), tuple(remarks), facts={"runs": runs, "unusual": unusual})
