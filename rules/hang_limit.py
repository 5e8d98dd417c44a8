"""How long a formula may hang: the stricter of the care plan's limit and the published one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from rules import figures
from rules.clock import before
from rules.outcome import CannotAnswer, need
from rules.quantity import Quantity

#: events that start the clock (aspen-course-2022, definition of hang time); the pump's start is only a stand-in
STARTS = ("mixed", "warmed", "poured", "opened")


@dataclass(frozen=True)
class HangLimit:
    """The limit that counts.

    remarks: `plan_limit_used` the plan's own, as strict as the published one or stricter;
    `published_limit_used` the plan holds none; `plan_limit_too_long` the plan's is longer than the published one,
    which counts; `infant_powder_limit` the shorter limit for an infant's powder without a written one.
    """

    limit: Quantity
    sources: tuple[str, ...]
    place: str
    remarks: tuple[str, ...]
    published: Quantity


def hang_limit(
    form: str | None, infant: bool = False, weak_immunity: bool = False, plan_limit: Quantity | None = None
) -> HangLimit:
    """Limit (h) for a form of formula. Refuses `missing` form, and `no_figure` for a form nobody has published on."""
    need(form=form)
    assert form is not None
    if form not in figures.FORMS:
        raise CannotAnswer("no_figure", name="hang_time", found=form)
    who = None
    if form == "sterile_liquid" and (infant or weak_immunity):
        who = "infant_or_weak_immunity"
    elif form == "powder" and infant and plan_limit is None:
        who = "infant_without_plan_limit"
    published = figures.hang_time(form, who)
    limit, remarks = published.value, ["published_limit_used"]
    if who == "infant_without_plan_limit":
        remarks.append("infant_powder_limit")
    if plan_limit is not None:
        limit = min(plan_limit.to("h"), published.value)
        remarks = ["plan_limit_too_long" if plan_limit > published.value else "plan_limit_used"]
    return HangLimit(limit.to("h"), (published.source,), published.place, tuple(remarks), published.value)


def clock_start(events: Mapping[str, datetime]) -> tuple[datetime, str]:
    """When the hang clock started, and from which event: the earliest of mixed, warmed, poured, opened.

    `feed_started` counts only where none of those is known. Refuses `missing` start where nothing is.
    """
    known = {name: at for name, at in events.items() if name in STARTS}
    if not known:
        if "feed_started" not in events:
            raise CannotAnswer("missing", name="start")
        return events["feed_started"], "feed_started"
    first = None
    for name, at in known.items():
        if first is None or before(at, known[first]):
            first = name
    assert first is not None
    return known[first], first
