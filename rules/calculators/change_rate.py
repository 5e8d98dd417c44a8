from __future__ import annotations

from datetime import datetime
from typing import Any

from rules.clock import later
from rules.limits import usual, within
from rules.order import against_order
from rules.outcome import Figure, Outcome
from rules.quantity import Quantity
from rules.spread import time_spread


def change_rate(
    *, rate: Quantity, volume: Quantity | None = None, now: datetime | None = None, lowest: Quantity | None = None,
    highest: Quantity | None = None, ordered: Quantity | None = None, family_may_change: bool = False,
    kit_highest: Quantity | None = None, accuracy: Quantity | None = None, over: Quantity | None = None,
) -> Outcome:
    """What another rate would make of the feed, and whether the care plan allows it. Never advice to change it.

    Takes
        rate               mL/h  0.1 to 1000  the rate that is asked about
        volume             mL    0.5 to 5000  what is still to run
        lowest             mL/h  0.1 to 1000  the care plan's lowest rate
        highest            mL/h  0.1 to 1000  the care plan's highest rate
        ordered            mL/h  0.1 to 1000  the care plan's rate for this feed
        kit_highest        mL/h  0.1 to 1000  highest rate of the pump
        accuracy           %     0 to 50      of the pump, either way
        over               h     0.01 to 48   how long it would run so, where that was asked
        now                instant            from which the rest runs
        family_may_change  yes or no          the plan lets the family choose inside its limits
    Gives
        rate         mL/h
        duration     h                        where the volume is known
        finish_at    instant                  where the volume and `now` are known
        delivered    mL                       in that time, where it was asked
        within_plan  yes or no                inside both limits; left out where the plan holds nothing to compare with
    Refuses
        beyond_possible                       an amount outside its range
    Remarks
        outside_plan_limits                   quote the plan's limits
        no_limits_in_plan                     the ordered rate is the only one that the plan allows
        differs_from_order                    the family may not change it without asking
        same_as_ordered                       it is the ordered rate already
        above_kit                             the pump cannot run that fast
        unusual                               facts `unusual`: such a rate is seldom seen at home
    Source
        arithmetic                            a time is an amount divided by a rate
    """
    within("change_rate", rate=rate, volume=volume, lowest=lowest, highest=highest, ordered=ordered,
           kit_highest=kit_highest, accuracy=accuracy, over=over)
    order = against_order(rate, lowest, highest, ordered, family_may_change)
    figures = {"rate": Figure(rate.to("mL/h"))}
    working: list[tuple[str, Any]] = [("rate", rate)]
    if volume is not None:
        duration = (volume / rate).to("h")
        low, high = time_spread(duration, accuracy)
        figures["duration"] = Figure(duration, low, high)
        working = [("volume", volume), ("rate", rate), ("duration", duration)]
        if now is not None:
            figures["finish_at"] = Figure(later(now, duration), *(time and later(now, time) for time in (low, high)))
    if over is not None:
        figures["delivered"] = Figure((rate * over).to("mL"))
        working += [("over", over), ("delivered", figures["delivered"].value)]
    if order.within_plan is not None:
        figures["within_plan"] = Figure(order.within_plan)
    above_kit = kit_highest is not None and rate > kit_highest
    unusual = usual("change_rate", rate=rate)
    remarks = (*order.remarks, *["above_kit"] * above_kit, *["unusual"] * bool(unusual))
    chosen = family_may_change and bool(order.within_plan)
    settled = not order.defers and ("same_as_ordered" in order.remarks or chosen)
    return Outcome(figures, tuple(working), ("arithmetic",), remarks, above_kit or not settled,
                   {"lowest": lowest, "highest": highest, "ordered": ordered, "unusual": unusual})
