"""The instant at which a message counts, read from what a channel was given. Channels take it from session.py."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from assistant.household.care_plan import CarePlan
from assistant.household.plan_faults import Wrong
from assistant.household.plan_times import in_zone
from knowledge.library import table


class NoSuchNow(ValueError):
    """A `now` that cannot be read, that the zone's clocks skip, or that they show twice."""


def instant(text: str | None, plan: CarePlan | None, *, twice_is_first: bool = False) -> datetime:
    """The instant at which a message counts. None is this moment; without an offset it is the plan's local time.

    Raises NoSuchNow. A local time that exists twice (clocks go back) is refused, or taken as the first where the
    caller says so (scripted conversations).
    """
    lines = table("sentences_en")["now"]
    zone: Any = plan.timezone if plan else datetime.now().astimezone().tzinfo
    if text is None:
        return datetime.now(zone)
    try:
        given = datetime.fromisoformat(text)
    except ValueError:
        raise NoSuchNow(lines["unreadable"].format(found=text[:60])) from None
    if given.tzinfo is not None:
        return given.astimezone(zone)
    if not isinstance(zone, ZoneInfo):
        return given.replace(tzinfo=zone)
    try:
        return in_zone(given, zone)
    except Wrong as fault:
        first, second = given.replace(tzinfo=zone, fold=0), given.replace(tzinfo=zone, fold=1)
        skipped = (
            first.utcoffset() is not None
            and first.astimezone(ZoneInfo("UTC")).astimezone(zone).replace(tzinfo=None) != given
        )
        if not skipped and twice_is_first:
            return first
        words = lines["skipped" if skipped else "twice"]
        raise NoSuchNow(
            words.format(found=text[:60], zone=zone.key, first=first.isoformat(), second=second.isoformat())
        ) from fault
