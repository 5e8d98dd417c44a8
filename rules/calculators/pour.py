from __future__ import annotations

from typing import Any

from rules.limits import usual, within
from rules.outcome import CannotAnswer, Figure, Outcome, need
from rules.quantity import Quantity, qty
from rules.rounding import whole_up

NOTHING = qty(0, "mL")


def pour(
    *, hang_limit: Quantity, rate: Quantity | None = None, feed_left: Quantity | None = None,
    priming: Quantity | None = None,
    bag: Quantity | None = None, sources: tuple[str, ...] = ("arithmetic",), limit_remarks: tuple[str, ...] = (),
) -> Outcome:
    """How much to pour into the bag, so that none of it hangs too long.

    Takes
        rate        mL/h  0.1 to 1000  rate it runs at; None where it goes in at once (syringe), with `feed_left`
        hang_limit  h     0.5 to 48    how long the formula may hang (rules.hang_limit)
        feed_left   mL    0.5 to 5000  what is left of the feed; None where that is not known
        priming     mL    0 to 200     held back by a dry set; None for a set that is primed
        bag         mL    10 to 5000   what the bag holds
        sources     list               of the hang limit
    Gives
        pour   mL                      what runs within the hang limit, or what is left, plus the set's volume
        fills  count                   how many fills what is left takes; where that is known
    Refuses
        missing                        the rate, or for a syringe what is left
        beyond_possible                an amount outside its range, or a bag that the set alone would empty
    Remarks
        hang_time_limits               less than what is left: the rest is poured fresh later
        bag_limits                     the bag holds no more
        priming_added                  the set's volume is in it
        more_fills                     more than one fill; never top up what hangs
        unusual                        facts `unusual` names the amounts that are seldom seen at home
        and those of the hang limit (rules.hang_limit), passed through
    Source
        arithmetic                     an amount is a rate times a time; with the hang limit's own source
    """
    within("pour", rate=rate, hang_limit=hang_limit, feed_left=feed_left, priming=priming, bag=bag)
    held = NOTHING if priming is None else priming.to("mL")
    if bag is not None and bag <= held:
        raise CannotAnswer("beyond_possible", name="bag", found=bag, low=priming, high=None)
    need(rate=rate if feed_left is None else feed_left)
    within_limit = feed_left.to("mL") if rate is None and feed_left is not None else (rate * hang_limit).to("mL")
    runs = within_limit if feed_left is None else min(within_limit, feed_left.to("mL"))
    poured = runs + held
    remarks = []
    if feed_left is not None and within_limit < feed_left:
        remarks.append("hang_time_limits")
    if bag is not None and poured > bag:
        poured, runs = bag.to("mL"), (bag - held).to("mL")
        remarks.append("bag_limits")
    if held > NOTHING:
        remarks.append("priming_added")
    figures = {"pour": Figure(poured)}
    if feed_left is not None:
        fills = _fills(feed_left.to("mL"), runs, within_limit if bag is None else min(within_limit, bag.to("mL")))
        figures["fills"] = Figure(qty(fills, "1"))
        remarks += ["more_fills"] * (fills > 1)
    unusual = usual("pour", rate=rate, feed_left=feed_left)
    working: list[tuple[str, Any]] = [("hang_limit", hang_limit)]
    if rate is not None:
        working = [("rate", rate), ("hang_limit", hang_limit), ("within_limit", within_limit)]
    working += [(name, step) for name, step in (("feed_left", feed_left), ("priming", priming), ("bag", bag))
                if step is not None]
    return Outcome(figures, (*working, ("pour", poured)), sources,
                   (*remarks, *limit_remarks, *["unusual"] * bool(unusual)),
                   facts={"runs": None if rate is None else (runs / rate).to("h"), "unusual": unusual})


def _fills(feed_left: Quantity, first: Quantity, later: Quantity) -> int:
    """The first fill loses the set's volume; later ones find the set full."""
    rest = feed_left - first
    return 1 if rest <= NOTHING else 1 + whole_up(rest / later)
