from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from rules.limits import usual, within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity, qty
from rules.spread import volume_spread
from rules.steps import Stretch, volume_of


def delivered(
    *, rate: Quantity | None = None, running: Quantity | None = None, segments: Iterable[Stretch] = (),
    volume_limit: Quantity | None = None, in_bag: Quantity | None = None, accuracy: Quantity | None = None,
    given: Quantity | None = None,
) -> Outcome:
    """How much has gone in so far.

    Takes
        rate          mL/h  0.1 to 1000  rate that ran, with `running`
        running       h     0 to 72      running time, pauses taken out
        volume_limit  mL    0.5 to 5000  amount after which the pump stops, or the feed's planned volume
        in_bag        mL    0 to 5000    what could run at all, priming taken off
        accuracy      %     0 to 50      of the pump, either way
        given         mL    0 to 5000    what the feed log makes it (rules.feed_state), in place of a rate and a time
        segments      list               rates with their running times, in place of `rate` and `running`
    Gives
        delivered  mL                    never above the volume limit or what was in the bag
        remaining  mL                    of the volume limit, where there is one
    Refuses
        missing                          the rate or the running time: nothing is guessed
        beyond_possible                  an amount outside its range
    Remarks
        limit_reached                    the volume limit or the bag ended it
        unusual                          facts `unusual` names the amounts that are seldom seen at home
    Source
        arithmetic                       an amount is a rate times a time
    """
    parts = tuple(segments)
    within("delivered", given=given, volume_limit=volume_limit, in_bag=in_bag, accuracy=accuracy)
    if given is not None:
        return _by_the_log(given, volume_limit, accuracy)
    if not parts:
        need(rate=rate, running=running)
        assert rate is not None and running is not None
        parts = ((rate, running),)
    for part_rate, part_time in parts:
        within("delivered", rate=part_rate, running=part_time)
    ran = volume_of(parts)
    caps = [cap.to("mL") for cap in (volume_limit, in_bag) if cap is not None]
    most = min(caps) if caps else None
    given = ran if most is None else min(ran, most)
    low, high = volume_spread(ran, accuracy, most)
    low = low if low is None or most is None else min(low, most)
    figures = {"delivered": Figure(given, low, high)}
    working: list[tuple[str, Any]] = []
    for part_rate, part_time in parts:
        working += [("rate", part_rate), ("running", part_time)]
    working.append(("delivered", given))
    if volume_limit is not None:
        left = (volume_limit - given).to("mL")
        least = None if high is None else volume_limit.to("mL") - high
        greatest = None if low is None else volume_limit.to("mL") - low
        figures["remaining"] = Figure(left, least, greatest)
        working += [("volume_limit", volume_limit), ("remaining", left)]
    unusual = usual("delivered", rate=rate)
    remarks = ["limit_reached"] * (most is not None and ran >= most) + ["unusual"] * bool(unusual)
    return Outcome(figures, tuple(working), ("arithmetic",), tuple(remarks),
                   facts={"running": sum((time for _, time in parts), qty(0, "h")), "unusual": unusual})


def _by_the_log(given: Quantity, volume_limit: Quantity | None, accuracy: Quantity | None) -> Outcome:
    low, high = volume_spread(given, accuracy, volume_limit)
    figures = {"delivered": Figure(given.to("mL"), low, high)}
    working: list[tuple[str, Any]] = [("delivered", given)]
    if volume_limit is not None:
        figures["remaining"] = Figure((volume_limit - given).to("mL"))
        working = [("volume_limit", volume_limit), ("delivered", given), ("remaining", figures["remaining"].value)]
    reached = volume_limit is not None and given >= volume_limit
    return Outcome(figures, tuple(working), ("arithmetic",), ("limit_reached",) * reached)
