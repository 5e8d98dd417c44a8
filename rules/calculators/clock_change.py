from __future__ import annotations

from datetime import datetime

from rules.clock import between, change_between, later, wall_shift
from rules.limits import within
from rules.outcome import CannotAnswer, Figure, Outcome, need
from rules.quantity import Quantity, qty


def clock_change(
    *, start: datetime, finish: datetime | None = None, over: Quantity | None = None, rate: Quantity | None = None
) -> Outcome:
    """Whether the clocks change during a feed, and by how much.

    Takes
        start   instant            when the feed starts
        finish  instant            when it ends; or
        over    h     0.01 to 72   how long it runs
        rate    mL/h  0.1 to 1000  to tell what runs in that time
    Gives
        shift  h                   by how much the wall clock reads later at the finish: 1 when clocks go forward
        finish_at  instant
    Refuses
        missing                    neither a finish nor a running time
        before_start               a finish before the start
        beyond_possible            an amount outside its range
    Remarks
        clocks_forward             the night is shorter; facts `changes_at`, `real` (h) and, with a rate, `volume`
        clocks_back                the night is longer; the same facts
        clocks_stay                no change between the two
    Source
        iana-tz                    zone rules
    """
    if finish is None:
        need(over=over)
        assert over is not None
        within("clock_change", over=over)
        finish = later(start, over)
    within("clock_change", rate=rate)
    real = between(start, finish)
    if real < qty(0, "h"):
        raise CannotAnswer("before_start", found=finish, start=start)
    shift = wall_shift(start, finish)
    remark = "clocks_stay" if shift == qty(0, "h") else "clocks_forward" if shift > qty(0, "h") else "clocks_back"
    working = (("start", start), ("finish_at", finish), ("real", real), ("shift", shift))
    facts = {"changes_at": change_between(start, finish), "real": real,
             "volume": None if rate is None else (rate * real).to("mL")}
    return Outcome({"shift": Figure(shift), "finish_at": Figure(finish)}, working, ("iana-tz",), (remark,), facts=facts)
