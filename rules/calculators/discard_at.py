from __future__ import annotations

from datetime import datetime
from typing import Any

from rules.clock import between, later, wall_shift
from rules.limits import within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity, qty


def discard_at(
    *, clock_started: datetime, limit: Quantity, now: datetime | None = None, started_from: str = "feed_started",
    sources: tuple[str, ...] = ("arithmetic",), limit_remarks: tuple[str, ...] = (),
) -> Outcome:
    """When what hangs must be thrown away.

    Takes
        clock_started  instant             when it was mixed, warmed, poured or opened
        limit          h     0.5 to 48     how long it may hang (rules.hang_limit)
        now            instant
        started_from   mixed, warmed, poured, opened or feed_started
        sources        list                of the hang limit
    Gives
        discard_at  instant                the clock's start plus the limit, in real time
        left        h                      from now; negative once the limit has passed
    Refuses
        missing                            when the clock started
        beyond_possible                    a limit outside its range
    Remarks
        start_used_for_hang_clock          only the feed's start is known, and the clock may have started earlier
        limit_passed                       the limit has passed: throw it away
        clocks_change                      the wall clock is changed before then; facts `shift` (h)
        and those of the hang limit (rules.hang_limit), passed through
    Source
        aspen-course-2022                  the clock starts when formula is mixed, warmed, poured or opened
    """
    need(start=clock_started)
    within("discard_at", limit=limit)
    if started_from not in ("mixed", "warmed", "poured", "opened", "feed_started"):
        raise ValueError(started_from)
    discard = later(clock_started, limit)
    shift = wall_shift(clock_started, discard)
    figures = {"discard_at": Figure(discard)}
    working: list[tuple[str, Any]] = [(started_from, clock_started), ("limit", limit), ("discard_at", discard)]
    remarks = ["start_used_for_hang_clock"] * (started_from == "feed_started")
    if now is not None:
        left = between(now, discard)
        figures["left"] = Figure(left)
        working.append(("left", left))
        remarks += ["limit_passed"] * (left <= qty(0, "h"))
    remarks += ["clocks_change"] * (shift != qty(0, "h"))
    return Outcome(figures, tuple(working), sources, (*remarks, *limit_remarks),
                   facts={"shift": shift, "started_from": started_from, "clock_started": clock_started})
