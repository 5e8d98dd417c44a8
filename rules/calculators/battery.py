from __future__ import annotations

from rules.limits import within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity, qty


def battery(
    *, lasts: Quantity | None = None, at: Quantity | None = None, rate: Quantity | None = None,
    used: Quantity | None = None,
) -> Outcome:
    """How long the pump's battery lasts: the plan's figure with its condition, never scaled to another rate.

    Takes
        lasts  h     0.1 to 100   the figure of the care plan, for a full battery
        at     mL/h  0.1 to 1000  rate that the figure holds for
        rate   mL/h  0.1 to 1000  rate that runs, to say where it differs
        used   h     0 to 100     time it has run on the battery since it was full
    Gives
        duration  h
    Refuses
        missing                   the plan has no figure: none is assumed
        beyond_possible           an amount outside its range
    Remarks
        full_battery              holds for a full battery, and less for an old one
        at_another_rate           the figure holds for facts `at`, not for the rate that runs
        rate_not_given            the plan does not say at which rate it holds
        hours_used                the time it has run was taken off; facts `used_so_far` (h)
        should_be_empty           it has run longer than the figure
    Source
        arithmetic                the plan's own figure; nothing is computed
    """
    need(battery=lasts)
    assert lasts is not None
    within("battery", lasts=lasts, at=at, rate=rate, used=used)
    remarks = ["full_battery"]
    if at is None:
        remarks.append("rate_not_given")
    elif rate is not None and rate != at:
        remarks.append("at_another_rate")
    working = (("lasts", lasts),) + ((("at", at),) if at is not None else ())
    left = lasts.to("h")
    if used is not None:
        left = max(qty(0, "h"), (lasts - used).to("h"))
        working = (*working, ("used", used), ("duration", left))
        remarks.append("hours_used" if used < lasts else "should_be_empty")
    return Outcome({"duration": Figure(left)}, working, ("arithmetic",), tuple(remarks),
                   facts={"at": at, "used_so_far": used})
