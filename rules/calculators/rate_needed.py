from __future__ import annotations

from rules.limits import usual, within
from rules.order import against_order
from rules.outcome import Figure, Outcome
from rules.quantity import Quantity
from rules.rounding import to_step


def rate_needed(
    *, volume: Quantity, over: Quantity, lowest: Quantity | None = None, highest: Quantity | None = None,
    ordered: Quantity | None = None, family_may_change: bool = False, pump_step: Quantity | None = None,
    kit_highest: Quantity | None = None,
) -> Outcome:
    """Rate at which `volume` runs in within `over`.

    Takes
        volume             mL    0.5 to 5000  amount to be given; flushes not included
        over               h     0.01 to 48   running time; breaks not included
        lowest             mL/h  0.1 to 1000  the care plan's lowest rate
        highest            mL/h  0.1 to 1000  the care plan's highest rate
        ordered            mL/h  0.1 to 1000  the care plan's rate for this feed
        pump_step          mL/h  0.01 to 50   step in which the pump is set
        kit_highest        mL/h  0.1 to 1000  highest rate of the pump
        family_may_change  yes or no          the plan lets the family choose inside its limits
    Gives
        rate  mL/h
    Refuses
        beyond_possible                       an amount outside its range
    Remarks
        outside_plan_limits                   below the plan's lowest or above its highest rate; quote both
        differs_from_order                    not the ordered rate, and the family may not change it
        same_as_ordered                       it is the ordered rate
        no_limits_in_plan                     the ordered rate is the only one that the plan allows
        above_kit                             the pump cannot run that fast
        unusual                               facts `unusual`: such a rate is seldom seen at home
    Source
        arithmetic                            a rate is an amount divided by a time
    """
    within("rate_needed", volume=volume, over=over, lowest=lowest, highest=highest, ordered=ordered,
           pump_step=pump_step, kit_highest=kit_highest)
    rate = (volume / over).to("mL/h")
    order = against_order(rate, lowest, highest, ordered, family_may_change)
    above_kit = kit_highest is not None and rate > kit_highest
    unusual = usual("rate_needed", rate=rate)
    remarks = (*order.remarks, *["above_kit"] * above_kit, *["unusual"] * bool(unusual))
    facts = {"within_plan": order.within_plan, "lowest": lowest, "highest": highest, "ordered": ordered,
             "set_rate": None if pump_step is None else to_step(rate, pump_step), "unusual": unusual}
    working = (("volume", volume), ("over", over), ("rate", rate))
    return Outcome({"rate": Figure(rate)}, working, ("arithmetic",), remarks, order.defers or above_kit, facts)
