from __future__ import annotations

from typing import Any

from rules.limits import usual, within
from rules.outcome import CannotAnswer, Figure, Outcome, need
from rules.quantity import Quantity, number, qty
from rules.rounding import whole


def drops(
    *, drop_factor: Quantity | None = None, rate: Quantity | None = None, volume: Quantity | None = None,
    over: Quantity | None = None, counted: Quantity | None = None, counted_over: Quantity | None = None,
) -> Outcome:
    """Drops a minute for a rate by gravity; or the rate that counted drops amount to.

    Takes
        drop_factor   drop/mL  1 to 100      printed on the set's package: never assumed
        rate          mL/h     0.1 to 1500   wanted rate; or
        volume        mL       0.5 to 5000   amount to be given, with
        over          h        0.01 to 48    its running time; or
        counted       drop     1 to 1000     drops that were counted, with
        counted_over  s        1 to 3600     the time they were counted for
    Gives
        drops             drop/min
        seconds_per_drop  s
        rate              mL/h               the rate that this is
    Refuses
        missing                              the drop factor, or the rate, or the volume and its time
        beyond_possible                      an amount outside its range
    Remarks
        from_count                           the rate was worked out from counted drops
        check_by_time                        gravity drifts: count again, and follow the package
        unusual                              facts `unusual` names the amounts that are seldom seen at home
    Source
        iv-calculation-formulas              drops a minute are mL/h times the drop factor over 60
    """
    need(drop_factor=drop_factor)
    assert drop_factor is not None
    within("drops", drop_factor=drop_factor, rate=rate, volume=volume, over=over, counted=counted,
           counted_over=counted_over)
    working: list[tuple[str, Any]] = [("drop_factor", drop_factor)]
    remarks = ["check_by_time"]
    if counted is not None:
        need(counted_over=counted_over)
        drip = (counted / counted_over).to("drop/min")
        rate = (counted / counted_over / drop_factor).to("mL/h")
        working += [("counted", counted), ("counted_over", counted_over)]
        remarks.insert(0, "from_count")
    elif rate is not None:
        drip = (rate * drop_factor).to("drop/min")
    elif volume is not None and over is not None:
        drip = (volume * drop_factor / over).to("drop/min")
        rate = (volume / over).to("mL/h")
        working += [("volume", volume), ("over", over)]
    else:
        raise CannotAnswer("missing", name="rate" if volume is None else "over")
    working += [("rate", rate), ("drops", drip)]
    seconds = qty(60, "s") / number(drip, "drop/min")
    unusual = usual("drops", rate=rate, drop_factor=drop_factor)
    figures = {"drops": Figure(drip), "seconds_per_drop": Figure(seconds), "rate": Figure(rate.to("mL/h"))}
    return Outcome(figures, tuple(working), ("iv-calculation-formulas",), (*remarks, *["unusual"] * bool(unusual)),
                   facts={"whole_drops": whole(drip), "unusual": unusual})
