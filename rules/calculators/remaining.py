from __future__ import annotations

from datetime import datetime
from typing import Any

from rules.clock import later
from rules.limits import within
from rules.outcome import CannotAnswer, Figure, Outcome
from rules.quantity import Quantity, qty
from rules.spread import time_spread


def remaining(
    *, total: Quantity, given: Quantity, rate: Quantity | None = None, now: datetime | None = None,
    accuracy: Quantity | None = None,
) -> Outcome:
    """How much is still to go in, and how long that takes.

    Takes
        total     mL    0.5 to 5000  planned volume, or what was in the bag
        given     mL    0 to 5000    what has gone in
        rate      mL/h  0.1 to 1000  rate that the pump runs at
        accuracy  %     0 to 50      of the pump, either way
        now       instant            from which the rest runs
    Gives
        remaining  mL
        duration   h                 where the rate is known
        finish_at  instant           where the rate and `now` are known
    Refuses
        beyond_possible              an amount outside its range, or more given than there was
    Remarks
        all_given                    nothing is left
    Source
        arithmetic                   a rest is a total less a part
    """
    within("remaining", total=total, given=given, rate=rate, accuracy=accuracy)
    if given > total:
        raise CannotAnswer("beyond_possible", name="given", found=given, low=qty(0, "mL"), high=total)
    left = (total - given).to("mL")
    figures = {"remaining": Figure(left)}
    working: list[tuple[str, Any]] = [("total", total), ("given", given), ("remaining", left)]
    if rate is not None:
        duration = (left / rate).to("h")
        low, high = time_spread(duration, accuracy)
        figures["duration"] = Figure(duration, low, high)
        working += [("rate", rate), ("duration", duration)]
        if now is not None:
            ends = (None if time is None else later(now, time) for time in (low, high))  # nothing left: no time is one
            figures["finish_at"] = Figure(later(now, duration), *ends)
    return Outcome(figures, tuple(working), ("arithmetic",), ("all_given",) * (left == qty(0, "mL")))
