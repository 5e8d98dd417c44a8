from __future__ import annotations

from datetime import datetime

from rules import figures
from rules.clock import between, later
from rules.limits import within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity, qty


def opened_until(
    *, opened_at: datetime, now: datetime | None = None, in_fridge: bool | None = True,
    room_limit: Quantity | None = None, sources: tuple[str, ...] = (),
) -> Outcome:
    """Until when an opened container of formula may be used.

    Takes
        opened_at   instant            when its seal was broken
        now         instant
        in_fridge   yes or no          covered and in the fridge since then; None where that is not known
        room_limit  h     0.5 to 48    hang time that counts where it stood in the room (rules.hang_limit)
        sources     list               of the room limit
    Gives
        discard_at  instant
        left        h                  from now; negative once it has passed
    Refuses
        missing                        in_fridge not known, or the room limit where it stood in the room
        beyond_possible                a limit outside its range
    Remarks
        only_in_fridge                 holds for a covered container in the fridge only
        stood_in_room                  the hang time counts, not the fridge time
        limit_passed                   throw it away
    Source
        aspen-handbook-2024            chapter 5, formula safety
    """
    need(start=opened_at, in_fridge=in_fridge)
    within("opened_until", room_limit=room_limit)
    from_sources: tuple[str, ...]
    if in_fridge:
        kept = figures.opened_container()
        limit, remarks, from_sources = kept.value, ["only_in_fridge"], (kept.source,)
    else:
        need(form=room_limit)
        assert room_limit is not None
        limit, remarks, from_sources = room_limit, ["stood_in_room"], sources or ("aspen-course-2022",)
    discard = later(opened_at, limit)
    found = {"discard_at": Figure(discard)}
    if now is not None:
        left = between(now, discard)
        found["left"] = Figure(left)
        remarks += ["limit_passed"] * (left <= qty(0, "h"))
    working = (("opened", opened_at), ("limit", limit), ("discard_at", discard))
    return Outcome(found, working, from_sources, tuple(remarks))
