from __future__ import annotations

from rules.limits import usual, within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity, qty
from rules.rounding import whole_up


def containers(
    *, volume: Quantity, container: Quantity | None = None, days: Quantity | None = None, pump_feeds: int = 0,
    priming: Quantity | None = None, keeps: bool = False, stated: bool = False,
) -> Outcome:
    """How many containers a feed, a day or a span of days takes, and what is left of the last.

    Takes
        volume      mL   0.5 to 10000  formula of one day, or the amount that was asked about
        container   mL   5 to 5000     what one container holds
        days        day  1 to 366      how many days; None for one
        priming     mL   0 to 200      held back by the set, once for each feed by pump
        pump_feeds  number             feeds by pump in a day
        keeps       yes or no          an opened container keeps until the next feed; never a closed bag
        stated      yes or no          the caller stated the volume: no priming is added to it
    Gives
        containers  count              rounded up
        leftover    mL                 what is left when the last is open; over the whole span
    Refuses
        missing                        the size of a container is not known
        beyond_possible                an amount outside its range
    Remarks
        priming_added                  the sets' volume is in it
        rounded_once                   the whole span was rounded up once, as an opened container keeps
        rounded_each_day               each day was rounded up, as what is left does not keep
        unusual                        facts `unusual` names the amounts that are seldom seen at home
    Source
        arithmetic                     a part of a container needs a whole one
    """
    need(container=container)
    assert container is not None
    within("containers", volume=volume, container=container, days=days, priming=priming)
    span = qty(1, "day") if days is None else days.to("day")
    held = qty(0, "mL") if stated or priming is None else (priming * pump_feeds).to("mL")
    use = volume.to("mL") + held
    whole_span = (use * (span / qty(1, "day"))).to("mL")
    once = keeps or span == qty(1, "day")
    if once:
        count = whole_up((whole_span / container).to(""))
    else:
        count = whole_up((use / container).to("")) * whole_up((span / qty(1, "day")).to(""))
    leftover = (container * count - whole_span).to("mL")
    figures = {"containers": Figure(qty(count, "1")), "leftover": Figure(leftover)}
    working = (("volume", volume), ("priming", held), ("use", use), ("days", span), ("container", container),
               ("containers", qty(count, "1")))
    remarks = ["priming_added"] * (held > qty(0, "mL"))
    if span > qty(1, "day"):
        remarks.append("rounded_once" if once else "rounded_each_day")
    unusual = usual("containers", volume=volume, container=container)
    return Outcome(figures, working, ("arithmetic",), (*remarks, *["unusual"] * bool(unusual)),
                   facts={"use": use, "unusual": unusual})
