from __future__ import annotations

from rules.limits import usual, within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity, qty
from rules.rounding import whole_up


def syringe(*, volume: Quantity, syringe: Quantity | None = None, over: Quantity | None = None) -> Outcome:
    """How often a syringe is filled for a feed, how much goes in each, and the plan's time for the feed.

    Takes
        volume   mL   0.5 to 5000  the feed
        syringe  mL   1 to 200     what the syringe holds
        over     min  1 to 240     the plan's time for the feed
    Gives
        fills    count             rounded up
        each     mL                a full syringe, or the whole feed if that is less
        minutes  min               where the plan has a time
    Refuses
        missing                    the syringe's size is not known
        beyond_possible            an amount outside its range
    Remarks
        one_syringe                one fill is enough
        last_one_less              the last syringe holds facts `last` (mL)
        no_time_in_plan            the plan has no time for this feed: ask the care team
        unusual                    facts `unusual` names the amounts that are seldom seen at home
    Source
        arithmetic                 a part of a syringe needs another fill
    """
    need(syringe=syringe)
    assert syringe is not None
    within("syringe", volume=volume, syringe=syringe, over=over)
    fills = whole_up((volume / syringe).to(""))
    each = min(volume.to("mL"), syringe.to("mL"))
    last = (volume - syringe * (fills - 1)).to("mL")
    figures = {"fills": Figure(qty(fills, "1")), "each": Figure(each)}
    working = [("volume", volume), ("syringe", syringe), ("fills", qty(fills, "1")), ("last", last)]
    facts = {"last": last, "each_minutes": None}
    if over is not None:
        figures["minutes"] = Figure(over.to("min"))
        working.append(("over", over))
        facts["each_minutes"] = (over / fills).to("min")
    unusual = usual("syringe", volume=volume, syringe=syringe)
    remarks = ["last_one_less"] * (last != each) + ["no_time_in_plan"] * (over is None) + ["unusual"] * bool(unusual)
    remarks += ["one_syringe"] * (fills == 1)
    return Outcome(figures, tuple(working), ("arithmetic",), tuple(remarks), facts={**facts, "unusual": unusual})
