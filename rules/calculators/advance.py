from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from rules.limits import within
from rules.outcome import CannotAnswer, Figure, Outcome
from rules.quantity import Quantity
from rules.steps import Step, after, rate_at


def advance(
    *, steps: Iterable[Step], now: datetime, rate: Quantity | None = None, told: datetime | None = None
) -> Outcome:
    """The ordered rate now, and the next rate with its time. The steps are the care team's; none is ever proposed.

    Takes
        steps  list               ordered rates and the instants from which they run
        now    instant
        rate   mL/h  0.1 to 1000  the plan's rate before the first step
        told   instant            a step ahead that was told already: the one after it is given
    Gives
        rate       mL/h           in force now; left out before the first step where no rate is known
        next_rate  mL/h           where a step lies ahead
        next_at    instant        where a step lies ahead
    Refuses
        not_taught                the plan orders no steps
        beyond_possible           a rate outside its range
    Remarks
        before_first_step         no step has come yet
        last_step_reached         no step lies ahead
        after_that_one            the next one given comes after the step told already
        only_if_ordered           a step is taken as ordered and when all is well; else call the care team
    Source
        arithmetic                the plan's own steps in order
    """
    ordered = tuple(steps)
    if not ordered:
        raise CannotAnswer("not_taught", name="steps")
    for _, stepped in ordered:
        within("advance", rate=stepped)
    within("advance", rate=rate)
    ahead = after(ordered, now if told is None else told)
    current = rate_at(ordered, now, first=rate)
    figures: dict[str, Figure] = {}
    working: list[tuple[str, Any]] = [("now", now)]
    remarks = ["before_first_step"] * (len(after(ordered, now)) == len(ordered))
    remarks += ["after_that_one"] * (told is not None)
    if current is not None:
        figures["rate"] = Figure(current.to("mL/h"))
        working.append(("rate", current))
    if ahead:
        next_at, next_rate = ahead[0]
        figures |= {"next_rate": Figure(next_rate.to("mL/h")), "next_at": Figure(next_at)}
        working += [("next_rate", next_rate), ("next_at", next_at)]
        remarks.append("only_if_ordered")
    else:
        remarks.append("last_step_reached")
    return Outcome(figures, tuple(working), ("arithmetic",), tuple(remarks))
