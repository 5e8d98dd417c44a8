"""Which instants a clock time may mean, and how numbers that are easily misheard are said back."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from assistant.message import Reading
from rules.outcome import CannotAnswer

_WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_HALF = 720
_AT_NIGHT = ("tonight", "last night")
UTC = ZoneInfo("UTC")


def resolve(reading: Reading, now: datetime, when: str, day: str | None = None) -> list[datetime]:
    """Instants that `reading` (kind "clock") may mean, best first, in the zone of `now`.

    Takes
        now     timezone-aware
        when    past (at or before now), future (at or after now), nearest
        day     a day value or a date as in message.Reading ("tomorrow", "last night", "14", "2026-11-29"), or None
    Gives
        the best instant and the other half of the day ("12h"); both instants where the clocks go back over the time
    Refuses
        no_such_time        the clocks go forward over it
    """
    if now.tzinfo is None:
        raise ValueError("now must be timezone-aware")
    if reading.kind != "clock" or when not in ("past", "future", "nearest"):
        raise ValueError(f"cannot resolve {reading.kind!r} {when!r}")
    minutes = _minutes(reading)
    tries = [_nearest(each, now, when, day) for each in minutes]
    tries.sort(key=lambda each: (day in _AT_NIGHT and not _night(each[0]), _distance(each[0], now, when)))
    if not tries[0][1]:
        raise CannotAnswer("no_such_time", found=f"{tries[0][0]:%H:%M}")
    return [instant for _, found in tries for instant in found]


def _minutes(reading: Reading) -> list[int]:
    """The times of day that it may be, in minutes: "hand" is a minute of any hour ("quarter past")."""
    value = int(reading.value)
    if reading.unit == "hand":
        return [60 * hour + value for hour in range(24)]
    return [value] if reading.unit == "24h" else [value % _HALF, value % _HALF + _HALF]


def _night(instant: datetime) -> bool:
    """Evening and small hours, as "tonight" and "last night" mean them."""
    return instant.hour >= 16 or instant.hour < 5


def _distance(instant: datetime, now: datetime, when: str) -> tuple[bool, timedelta]:
    """How far from now, wrong directions last; in real time."""
    ahead = instant.astimezone(UTC) - now.astimezone(UTC)
    wrong = (when == "past" and ahead > timedelta(0)) or (when == "future" and ahead < timedelta(0))
    return wrong, abs(ahead)


def _nearest(minutes: int, now: datetime, when: str, day: str | None) -> tuple[datetime, list[datetime]]:
    """A time of day on the day that fits best: as on the wall, and its instants (none: skipped)."""
    days = [_date_of(day, minutes, now, when)] if day else [now.date() + timedelta(days=shift) for shift in (-1, 0, 1)]
    tries = []
    for each in days:
        found = sorted(_instants(each, minutes, now), key=lambda instant: _distance(instant, now, when))
        tries.append((found[0] if found else _wall(each, minutes).replace(tzinfo=now.tzinfo), found))
    return min(tries, key=lambda each: _distance(each[0], now, when))


def _wall(on: date, minutes: int) -> datetime:
    return datetime(on.year, on.month, on.day, minutes // 60, minutes % 60)


def _instants(on: date, minutes: int, now: datetime) -> list[datetime]:
    """Instants of a wall clock time on a day: none in a spring gap, two where the hour comes twice."""
    wall = _wall(on, minutes)
    found: list[datetime] = []
    for fold in (0, 1):
        instant = wall.replace(tzinfo=now.tzinfo, fold=fold)
        back = instant.astimezone(UTC).astimezone(now.tzinfo)
        if back.replace(tzinfo=None) == wall and all(back.astimezone(UTC) != each.astimezone(UTC) for each in found):
            found.append(instant)
    return found


def _date_of(day: str, minutes: int, now: datetime, when: str) -> date:
    """The date that a day word means for a time of day."""
    today, day_length = now.date(), timedelta(days=1)
    small_hours = minutes < 300
    if day == "tonight":  # two "tonight" is tomorrow's small hours, unless it is night already
        if now.hour >= 5:
            return today + day_length * small_hours
        return today - day_length * (when != "future" and not small_hours)
    shift = {"today": 0, "tomorrow": 1, "yesterday": -1, "last night": 0 if small_hours else -1}.get(day)
    if shift is not None:
        return today + day_length * shift
    if day not in _WEEKDAYS:
        return _calendar(day, today, when)
    ahead = (_WEEKDAYS.index(day) - today.weekday()) % 7
    gone = minutes < now.hour * 60 + now.minute
    if when == "past":
        ahead -= 7 * (ahead > 0 or not gone)
    elif when == "future":
        ahead += 7 * (ahead == 0 and gone)
    elif ahead > 3:
        ahead -= 7
    return today + day_length * ahead


def _calendar(day: str, today: date, when: str) -> date:
    """ "2026-11-29", "--11-29" (no year) and "14" (day of the month): the nearest in the direction."""
    if day.startswith("--"):
        month, number = map(int, day[2:].split("-"))
        tries = [(today.year + shift, month, number) for shift in (-1, 0, 1)]
    elif day.isdecimal():
        months = [divmod(today.year * 12 + today.month - 1 + shift, 12) for shift in (-2, -1, 0, 1, 2)]
        tries = [(year, month + 1, int(day)) for year, month in months]
    else:
        return date.fromisoformat(day)
    dates = []
    for year, month, number in tries:
        try:
            dates.append(date(year, month, number))
        except ValueError:
            continue
    if not dates:
        raise CannotAnswer("no_such_time", found=day)
    fitting = [d for d in dates if (d <= today if when == "past" else d >= today if when == "future" else True)]
    return min(fitting or dates, key=lambda d: abs(d - today))


def misheard(value: Decimal) -> Decimal | None:
    """The number that `value` is easily taken for: 13 and 30 ... 19 and 90, also after hundreds; else None."""
    if value != value.to_integral_value() or value < 13:
        return None
    rest, last = divmod(int(value), 100)
    if 13 <= last <= 19:
        twin = last % 10 * 10
    elif last % 10 == 0 and 30 <= last <= 90:
        twin = last // 10 + 10
    else:
        return None
    return Decimal(rest * 100 + twin)


def digit_by_digit(value: Decimal) -> str:
    """`value` as digits said one by one: 15 -> "one five", 7.8 -> "seven point eight"."""
    return " ".join("point" if mark == "." else "minus" if mark == "-" else _DIGITS[int(mark)] for mark in f"{value:f}")
