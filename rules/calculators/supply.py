from __future__ import annotations

from datetime import date, timedelta
from decimal import ROUND_FLOOR
from typing import Any

from rules.clock import days_between
from rules.limits import within
from rules.outcome import CannotAnswer, Figure, Outcome, need
from rules.quantity import Quantity, number, qty
from rules.rounding import whole_up


def supply(
    *, today: date, stock: Quantity | None = None, counted: date | None = None, container: Quantity | None = None,
    daily: Quantity | None = None, pieces_a_day: Quantity | None = None, reorder_lead: Quantity | None = None,
    keeps: bool = True, until: date | None = None,
) -> Outcome:
    """How many days the stock lasts, the day it runs out, and by when to order.

    Takes
        stock         1    0 to 100000    containers, bags or syringes that were counted
        container     mL   5 to 5000      what one container holds, with `daily`
        daily         mL   0.5 to 10000   a day's use, priming volumes included
        pieces_a_day  1    0.01 to 100    in place of both: pieces used a day (bags, syringes)
        reorder_lead  day  0 to 120       how long an order takes
        counted       date                the day of the count; that day's use is still in it
        today         date
        keeps         yes or no           an opened container keeps until the next day; a closed bag never does
        until         date                a day to which it is to last, that day's use included
    Gives
        days        day                   from today; 0 or less where the count says it has run out
        runs_out    date                  the earlier day
        reorder_by  date                  run-out less the lead time, the earlier day
        enough      yes or no             whether that day is over before it runs out, by the stricter count
    Refuses
        missing                           the stock, the day of the count, or a day's use
        before_start                      the count lies in the future
        beyond_possible                   an amount outside its range
    Remarks
        ran_out                           by this count nothing is left: count again
        whole_ran_out                     ... by the stricter count alone (below)
        order_now                         the day to order by is today or has passed
        whole_each_day                    what is left of the last one of a day is not kept, so whole ones are used up:
                                          facts `whole_a_day`, `whole_days` (day), `whole_runs_out` and
                                          `whole_reorder_by` hold that stricter count
    Source
        arithmetic                        days are a stock divided by a day's use
    """
    need(stock=stock, counted=counted)
    assert stock is not None and counted is not None
    within("supply", stock=stock, container=container, daily=daily, pieces_a_day=pieces_a_day,
           reorder_lead=reorder_lead)
    since = days_between(counted, today)
    if since < 0:
        raise CannotAnswer("before_start", found=today, start=counted)
    if pieces_a_day is None:
        need(container=container, daily=daily)
        assert container is not None and daily is not None
        lasts = qty(number(stock * container / daily, "1"), "day")
        working: list[tuple[str, Any]] = [("stock", stock), ("container", container), ("daily", daily)]
    else:
        lasts = qty(number(stock / pieces_a_day, "1"), "day")
        working = [("stock", stock), ("pieces_a_day", pieces_a_day)]
    facts: dict[str, Any] = {"lasts": lasts, "counted": counted}
    left = lasts - qty(since, "day")
    figures = {"days": Figure(left), "runs_out": Figure(_day(counted, lasts))}
    remarks = ["ran_out"] * (left <= qty(0, "day"))
    if not keeps and container is not None and daily is not None:
        facts |= _whole(stock, container, daily, counted, since, reorder_lead)
        remarks += ["whole_each_day"] * (facts["whole_days"] < left)
        remarks += ["ran_out", "whole_ran_out"] * (facts["whole_days"] <= qty(0, "day") < left)
    if reorder_lead is not None:
        figures["reorder_by"] = Figure(_day(counted, lasts - reorder_lead.to("day")))
        remarks += ["order_now"] * (facts.get("whole_reorder_by", figures["reorder_by"].value) <= today)
    if until is not None:
        figures["enough"] = Figure(facts.get("whole_runs_out", figures["runs_out"].value) > until)
        facts["until"] = until
    working += [("lasts", lasts), ("counted", counted), ("days", left)]
    return Outcome(figures, tuple(working), ("arithmetic",), tuple(remarks), facts=facts)


def _whole(
    stock: Quantity, container: Quantity, daily: Quantity, counted: date, since: int, reorder_lead: Quantity | None
) -> dict[str, Any]:
    """The stricter count, where each day opens whole containers and keeps nothing of the last."""
    a_day = whole_up((daily / container).to(""))
    lasts = qty(number(stock, "1") / a_day, "day")
    reorder_by = None if reorder_lead is None else _day(counted, lasts - reorder_lead.to("day"))
    return {"whole_a_day": qty(a_day, "1"), "whole_days": lasts - qty(since, "day"),
            "whole_runs_out": _day(counted, lasts), "whole_reorder_by": reorder_by}


def _day(counted: date, after: Quantity) -> date:
    """The day on which that many days have passed, the earlier one where they are not whole."""
    return counted + timedelta(days=int(number(after, "day").to_integral_value(rounding=ROUND_FLOOR)))
