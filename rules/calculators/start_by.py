from __future__ import annotations

from datetime import datetime

from rules.clock import before, earlier, wall_shift
from rules.limits import usual, within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity, qty


def start_by(
    *, finish: datetime, volume: Quantity | None = None, rate: Quantity | None = None, over: Quantity | None = None,
    now: datetime | None = None,
) -> Outcome:
    """When a feed must start to be through at `finish`.

    Takes
        finish  instant            when the feed is to be through
        volume  mL    0.5 to 5000  what is to run, with `rate`
        rate    mL/h  0.1 to 1000  rate that the pump runs at
        over    h     0.01 to 48   running time, in place of volume and rate
        now     instant            to tell whether that time has passed
    Gives
        start_at  instant          real time before the finish, shown in the zone of the finish
    Refuses
        missing                    rate or volume, where there is no `over`
        beyond_possible            an amount outside its range
    Remarks
        clocks_change              the wall clock is changed in between; facts `shift` (h)
        already_past               that time has gone by: it cannot be through by then
        unusual                    facts `unusual` names the amounts that are seldom seen at home
    Source
        arithmetic                 a time is an amount divided by a rate; real elapsed time
    """
    within("start_by", volume=volume, rate=rate, over=over)
    if over is not None:
        duration, working = over.to("h"), [("over", over)]
    else:
        need(volume=volume, rate=rate)
        assert volume is not None and rate is not None
        duration = (volume / rate).to("h")
        working = [("volume", volume), ("rate", rate), ("duration", duration)]
    start = earlier(finish, duration)
    shift = wall_shift(start, finish)
    unusual = usual("start_by", volume=volume, rate=rate)
    remarks = (["clocks_change"] * (shift != qty(0, "h")) + ["already_past"] * (now is not None and before(start, now))
               + ["unusual"] * bool(unusual))
    return Outcome({"start_at": Figure(start)}, (("finish", finish), *working, ("start_at", start)), ("arithmetic",),
                   tuple(remarks), facts={"duration": duration, "shift": shift, "unusual": unusual})
