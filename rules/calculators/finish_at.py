from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from rules.clock import later, wall_shift
from rules.limits import usual, within
from rules.outcome import CannotAnswer, Figure, Outcome, need
from rules.quantity import Quantity, qty
from rules.spread import time_spread
from rules.steps import Step, rate_at, time_for


def finish_at(
    *, start: datetime, volume: Quantity | None = None, rate: Quantity | None = None, over: Quantity | None = None,
    steps: Iterable[Step] = (), accuracy: Quantity | None = None, priming: Quantity | None = None,
    paused: Quantity | None = None,
) -> Outcome:
    """When a feed that starts at `start` is through.

    Takes
        start     instant            when the feed starts
        volume    mL    0.5 to 5000  what is to run, with `rate`
        rate      mL/h  0.1 to 1000  rate until the first of `steps`
        over      h     0.01 to 48   running time, in place of volume and rate
        accuracy  %     0 to 50      of the pump, either way
        priming   mL    0 to 200     held back by a dry set; None for a primed set
        paused    min   0 to 1440    all the time since the start in which it did not run
        steps     list               ordered rates and the instants from which they run
    Gives
        finish_at  instant           real time after the start, shown in the zone of the start
        duration   h
    Refuses
        missing                      rate or volume, where there is no `over`
        beyond_possible              an amount outside its range
    Remarks
        clocks_change                the wall clock is changed before the finish; facts `shift` (h)
        priming_taken_off            the set's volume was taken off first
        steps_counted                an ordered step changes the rate on the way
        unusual                      facts `unusual` names the amounts that are seldom seen at home
    Source
        arithmetic                   a time is an amount divided by a rate; real elapsed time
    """
    within("finish_at", volume=volume, rate=rate, over=over, accuracy=accuracy, priming=priming,
           paused=paused)
    steps = tuple(steps)
    working: list[tuple[str, Any]] = [("start", start)]
    if over is not None:
        duration = over.to("h")
        low, high = None, None
        working += [("over", over)]
    else:
        need(volume=volume)
        rate = rate if rate is not None else rate_at(steps, start)
        need(rate=rate)
        assert volume is not None and rate is not None
        runs = volume.to("mL") if priming is None else (volume - priming).to("mL")
        if runs <= qty(0, "mL"):
            raise CannotAnswer("beyond_possible", name="volume", found=volume, low=priming, high=None)
        duration = time_for(runs, start, rate, steps)
        low, high = time_spread(duration, accuracy)
        taken = [("priming", priming), ("runs", runs)] if priming is not None and priming > qty(0, "mL") else []
        working += [("volume", volume), *taken, ("rate", rate), ("duration", duration)]
    stood = qty(0, "h") if paused is None else paused.to("h")
    if paused is not None:
        working.append(("paused", paused.to("min")))
    finish = later(start, duration + stood)
    stepped = over is None and rate is not None and duration != (runs / rate).to("h")
    shift = wall_shift(start, finish)
    unusual = usual("finish_at", volume=volume, rate=rate)
    remarks = (["clocks_change"] * (shift != qty(0, "h")) + ["steps_counted"] * stepped
               + ["priming_taken_off"] * (priming is not None and priming > qty(0, "mL")) + ["unusual"] * bool(unusual))
    figures = {
        "finish_at": Figure(finish, *(time and later(start, time + stood) for time in (low, high))),
        "duration": Figure(duration, low, high),
    }
    return Outcome(figures, (*working, ("finish_at", finish)), ("arithmetic",), tuple(remarks),
                   facts={"shift": shift, "unusual": unusual})
