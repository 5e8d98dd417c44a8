from __future__ import annotations

from rules.limits import within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity


def battery(*, lasts: Quantity | None, at: Quantity | None = None, rate: Quantity | None = None) -> Outcome:
    """How long the pump's battery lasts: the plan's figure with its condition, never scaled to another rate.

    Takes
        lasts  h     0.1 to 100   the figure of the care plan, for a full battery
        at     mL/h  0.1 to 1000  rate that the figure holds for
        rate   mL/h  0.1 to 1000  rate that runs, to say where it differs
    Gives
        duration  h
    Refuses
        missing                   the plan has no figure: none is assumed
        beyond_possible           an amount outside its range
    Remarks
        full_battery              holds for a full battery, and less for an old one
        at_another_rate           the figure holds for facts `at`, not for the rate that runs
        rate_not_given            the plan does not say at which rate it holds
    Source
        arithmetic                the plan's own figure; nothing is computed
    """
    need(battery=lasts)
    assert lasts is not None
    within("battery", lasts=lasts, at=at, rate=rate)
    remarks = ["full_battery"]
    if at is None:
        remarks.append("rate_not_given")
    elif rate is not None and rate != at:
        remarks.append("at_another_rate")
    working = (("lasts", lasts),) + ((("at", at),) if at is not None else ())
    return Outcome({"duration": Figure(lasts.to("h"))}, working, ("arithmetic",), tuple(remarks), facts={"at": at})
