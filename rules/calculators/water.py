from __future__ import annotations

from collections.abc import Iterable

from rules import figures
from rules.flushes import Flushing, flushes_a_day
from rules.limits import within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity, qty

NOTHING = qty(0, "mL")


def water(
    *, volume: Quantity, free_water: Quantity | None = None, density: Quantity | None = None,
    flush: Quantity | None = None, before_feed: bool = False, after_feed: bool = False, feeds: int = 0,
    medicines: int = 0, every: Quantity | None = None, running: Iterable[Quantity] = (),
    extra: Quantity | None = None, goal: Quantity | None = None,
) -> Outcome:
    """All the water of a day: what the formula holds and every flush.

    Takes
        volume       mL       0 to 10000    formula of the day
        free_water   %        40 to 100     share of the formula that is water, from its label
        density      kcal/mL  0.3 to 4      energy of the formula, for the standard share where the label's is unknown
        flush        mL       0 to 500      one flush
        every        h        0.5 to 24     interval of flushes while a feed runs
        extra        mL       0 to 5000     further water, such as a water bolus
        goal         mL       1 to 10000    the plan's goal, all fluid a day
        before_feed  yes or no              a flush before each feed
        after_feed   yes or no              a flush after each feed
        feeds        number                 feeds a day
        medicines    number                 medicine flushes a day
        running      list                   running time (h) of each feed, for `every`
    Gives
        water  mL
        goal   mL                           where the plan has one
        short  mL                           what is missing to the goal, 0 where it is met
    Refuses
        missing                             the label's share and the energy are both unknown
        no_figure                           the energy is outside the standard table
        beyond_possible                     an amount outside its range
    Remarks
        standard_free_water                 a standard figure was used, not the label's
        no_flush_volume                     the plan has no flush volume: flushes are not in the sum
        goal_met                            nothing is missing
    Source
        aspen-adult-core-2017               water content of formulas, where the standard figure is used
        arithmetic                          else
    """
    within("water", volume=volume, free_water=free_water, density=density, flush=flush, every=every, extra=extra,
           goal=goal)
    share, sources, remarks = free_water, ("arithmetic",), []
    if share is None:
        need(free_water=density)
        assert density is not None
        published = figures.free_water(density)
        share, sources, remarks = published.value, (published.source,), ["standard_free_water"]
    in_formula = (volume * share).to("mL")
    flushing = Flushing(before_feed, after_feed, feeds, medicines, every, tuple(running))
    times = flushes_a_day(flushing)
    in_flushes = NOTHING if flush is None else (flush * times).to("mL")
    remarks += ["no_flush_volume"] * (flush is None and times > qty(0, "1"))
    total = in_formula + in_flushes + (NOTHING if extra is None else extra.to("mL"))
    found = {"water": Figure(total)}
    working = [("volume", volume), ("free_water", share), ("in_formula", in_formula), ("flushes", times)]
    working += [(name, step) for name, step in (("flush", flush), ("in_flushes", in_flushes), ("extra", extra))
                if step is not None]
    working.append(("water", total))
    if goal is not None:
        short = max(NOTHING, (goal - total).to("mL"))
        found |= {"goal": Figure(goal.to("mL")), "short": Figure(short)}
        working += [("goal", goal), ("short", short)]
        remarks += ["goal_met"] * (short == NOTHING)
    return Outcome(found, tuple(working), sources, tuple(remarks),
                   facts={"in_formula": in_formula, "in_flushes": in_flushes, "flushes": times, "free_water": share})
