"""Days, times and zones of a care plan. A local time that the clocks skip or repeat is refused, never guessed."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from assistant.household.plan_faults import Wrong, nearest


def read_date(value: Any) -> date:
    """A day: a TOML date, or "2026-10-02"."""
    if isinstance(value, date) and not isinstance(value, datetime):
        return value
    if isinstance(value, str) and re.fullmatch(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", value.strip()):
        try:
            return date.fromisoformat(value.strip())
        except ValueError:
            raise Wrong("no_such_day") from None
    raise Wrong("date")


def read_clock(value: Any) -> time:
    """A time of day: "21:00", two digits each."""
    if isinstance(value, time):
        raise Wrong("clock_unquoted", suggestion=f'"{value:%H:%M}"')
    shape = re.fullmatch(r"([0-9]{1,2}):([0-9]{2})", value.strip()) if isinstance(value, str) else None
    if shape is None or int(shape[1]) > 23 or int(shape[2]) > 59 or len(shape[1]) == 1:
        raise Wrong("clock")        # "9:00": morning or evening? both digits are asked for
    return time(int(shape[1]), int(shape[2]))


def read_moment(value: Any) -> datetime:
    """A day and time; without an offset it is local time in the plan's zone (placed there by `in_zone`)."""
    if isinstance(value, datetime):
        return value
    if isinstance(value, str) and re.match(r"\s*[0-9]{4}-[0-9]{2}-[0-9]{2}[T ][0-9]{2}:[0-9]{2}", value):
        try:
            return datetime.fromisoformat(value.strip())
        except ValueError:
            raise Wrong("moment") from None
    raise Wrong("moment")


def in_zone(moment: datetime, zone: ZoneInfo) -> datetime:
    """`moment` in `zone`. Raises Wrong no_such_time or time_twice where the clocks change at that local time."""
    if not 1900 < moment.year < 3000:       # beyond what zones know, and the edges where sums overflow
        raise Wrong("moment")
    if moment.tzinfo is not None:
        return moment.astimezone(zone)
    first, second = (moment.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if first.utcoffset() == second.utcoffset():
        return first
    there_and_back = first.astimezone(UTC).astimezone(zone).replace(tzinfo=None)
    if there_and_back != moment:
        later = moment + timedelta(hours=1)
        raise Wrong("no_such_time", zone=zone.key, suggestion=later.isoformat())
    raise Wrong("time_twice", zone=zone.key, first=first.isoformat(), second=second.isoformat())


def read_zone(value: Any) -> ZoneInfo:
    """A zone by its IANA name; short names such as CST are refused, since they name several zones."""
    name = value.strip() if isinstance(value, str) else ""
    if ("/" not in name and name != "UTC") or name.startswith(("posix/", "right/")):
        raise Wrong("zone", suggestion=_nearest_zone(name))
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise Wrong("zone", suggestion=_nearest_zone(name)) from None


def _nearest_zone(name: str) -> str | None:
    from zoneinfo import available_timezones
    if name.isupper():      # CET, CST: a short name stands for several zones
        return None
    tidy = name.replace(" ", "_")
    known = sorted(zone for zone in available_timezones() if "/" in zone and not zone.startswith("Etc/"))
    city = {zone.rsplit("/", 1)[1]: zone for zone in known}
    near_city = nearest(tidy.rsplit("/", 1)[-1], city)
    found = nearest(tidy, known) if "/" in tidy else (city[near_city] if near_city else None)
    return f'"{found}"' if found else None
