from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from rules.clock import before, between, later
from rules.limits import within
from rules.outcome import CannotAnswer, Figure, Outcome, need
from rules.quantity import Quantity, qty

NOTHING = qty(0, "mL")


def catch_up(
    *, planned: Quantity | None = None, rate: Quantity | None = None, given: Quantity | None = None,
    missed_time: Quantity | None = None, now: datetime | None = None, until: datetime | None = None,
    highest: Quantity | None = None, allowed: bool = False, planned_finish: datetime | None = None,
) -> Outcome:
    """What is missing of a feed, how long it would take, and whether the plan's catch-up order covers it.

    Takes
        planned         mL    0.5 to 5000  what was to be given; needed with `given`
        rate            mL/h  0.1 to 1000  the plan's rate; needed with `missed_time`, else for `extra`
        given           mL    0 to 5000    what has gone in; or
        missed_time     h     0 to 48      time that the pump stood still
        highest         mL/h  0.1 to 1000  highest rate that the catch-up order allows
        now             instant            from which it would run
        planned_finish  instant            when the feed is to end, where it is running now
        until           instant            by when the catch-up order lets it run
        allowed         yes or no          the plan holds a catch-up order, and the person is no infant, has no
                                           jejunal feed and no insulin
    Gives
        shortfall  mL                      planned less given
        extra      h                       its time at the plan's rate, where that is known
        finish_at  instant                 at the plan's rate, where `now` or `planned_finish` is known
        rate       mL/h                    only where the order lets the rate rise: what is needed, up to `highest`
    Refuses
        missing                            given or missed_time
        beyond_possible                    an amount outside its range, or more given or missed than was planned
    Remarks
        nothing_missed                     no shortfall
        team_decides                       no catch-up order counts here: the figures, and a call
        fits_at_plan_rate                  through before `until` at the plan's rate
        fits_at_higher_rate                through before `until` at figure `rate`, which the order allows
        rest_missing                       facts `stays_missing` (mL) stays missing by `until`; the team decides
        rest_missing_at_plan_rate          the same, where the order names no higher rate
    Source
        arithmetic                         a shortfall is a plan less what was given
    """
    within("catch_up", planned=planned, rate=rate, given=given, missed_time=missed_time, highest=highest)
    shortfall, working = _shortfall(planned, rate, given, missed_time)
    working.append(("shortfall", shortfall))
    if rate is None:                    # a feed by syringe has no rate: the shortfall alone, and a call
        nothing = shortfall == NOTHING
        return Outcome({"shortfall": Figure(shortfall)}, tuple(working), ("arithmetic",),
                       ("nothing_missed" if nothing else "team_decides",), not nothing)
    extra = (shortfall / rate).to("h")
    figures = {"shortfall": Figure(shortfall), "extra": Figure(extra)}
    working += [("rate", rate), ("extra", extra)]
    begins = planned_finish or now
    finish = None if begins is None else later(begins, extra)
    if finish is not None:
        figures["finish_at"] = Figure(finish)
    facts = {"until": until, "highest": highest, "usual_rate": rate}
    if shortfall == NOTHING:
        return Outcome(figures, tuple(working), ("arithmetic",), ("nothing_missed",), False, facts)
    if not allowed:
        return Outcome(figures, tuple(working), ("arithmetic",), ("team_decides",), True, facts)
    fit = _fit(shortfall, rate, now, until, highest, planned_finish, finish)
    if fit.rate is not None:
        figures["rate"] = Figure(fit.rate)
        working.append(("rate_by_until", fit.rate))
    defers = fit.remark in ("rest_missing", "rest_missing_at_plan_rate", "team_decides")
    return Outcome(figures, tuple(working), ("arithmetic",), (fit.remark,), defers,
                   {**facts, "stays_missing": fit.missing})


def _shortfall(
    planned: Quantity | None, rate: Quantity | None, given: Quantity | None, missed_time: Quantity | None
) -> tuple[Quantity, list[tuple[str, Quantity]]]:
    if given is not None:
        need(planned=planned)
        assert planned is not None
        if given > planned:
            raise CannotAnswer("beyond_possible", name="given", found=given, low=NOTHING, high=planned)
        return (planned - given).to("mL"), [("planned", planned), ("given", given)]
    need(given=missed_time, rate=rate)
    assert missed_time is not None and rate is not None
    missed = (rate * missed_time).to("mL")
    if planned is not None and missed > planned:
        raise CannotAnswer("beyond_possible", name="missed_time", found=missed_time, low=qty(0, "h"),
                           high=(planned / rate).to("h"))
    return missed, [("rate", rate), ("missed_time", missed_time)]


@dataclass(frozen=True)
class _Fit:
    remark: str
    rate: Quantity | None = None
    missing: Quantity = NOTHING


def _fit(
    shortfall: Quantity, rate: Quantity, now: datetime | None, until: datetime | None, highest: Quantity | None,
    planned_finish: datetime | None, finish: datetime | None,
) -> _Fit:
    """Does the shortfall fit before `until`? The planned finish counts where the order names a rate and no time."""
    if until is None and highest is not None:
        until = planned_finish
    if until is None or finish is None:
        return _Fit("team_decides")
    if not before(until, finish):
        return _Fit("fits_at_plan_rate")
    need(now=now)
    assert now is not None
    left = between(now, until) if before(now, until) else qty(0, "h")
    rest = shortfall
    if planned_finish is not None and before(now, planned_finish):
        rest = (rest + rate * between(now, planned_finish)).to("mL")
    if highest is None or highest <= rate or left == qty(0, "h"):
        code = "rest_missing" if highest is not None else "rest_missing_at_plan_rate"
        return _Fit(code, None, max(NOTHING, (rest - rate * left).to("mL")))
    wanted = (rest / left).to("mL/h")
    if wanted <= highest:
        return _Fit("fits_at_higher_rate", wanted)
    return _Fit("rest_missing", highest.to("mL/h"), (rest - highest * left).to("mL"))
