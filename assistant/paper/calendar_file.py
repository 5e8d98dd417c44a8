"""The plan's next days as iCalendar (RFC 5545): feeds, flushes, hang limits, set changes and the day to order.

Each entry is an instant worked out by rules/calculators/timetable.py and written out by itself, not as a rule of
recurrence: a feed that runs over a change of clocks lasts its real hours, and an ordered step of the rate changes its
days. Times stand in the plan's zone with its VTIMEZONE; of a local time that comes twice RFC 5545 (3.3.5) means the
first, so the second one is written in UTC.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from assistant import word
from assistant.gather.timetable import day_feed
from assistant.household.care_plan import Feed
from assistant.household.day_log import planned_day
from assistant.night import Night, feed_time
from knowledge.library import table
from rules import figures
from rules.calculators.supply import supply
from rules.calculators.timetable import DayFeed, Row, timetable
from rules.clock import before, later
from rules.outcome import CannotAnswer
from rules.quantity import qty

AT_START = ("flush_before", "feed_start")
ALARM_ON_A_DAY = timedelta(hours=9)
YEAR = timedelta(days=366)


@dataclass(frozen=True)
class Entry:
    """One entry. `finish` None: a moment. `day` instead of `start`: the whole day."""

    what: str
    title: str
    start: datetime | None = None
    finish: datetime | None = None
    day: date | None = None
    note: str = ""
    feed: str = ""


@dataclass(frozen=True)
class Calendar:
    """The entries, and what had to be left out: feeds without a known end, feeds whose rate is being stepped."""

    entries: tuple[Entry, ...]
    unknown: tuple[str, ...]
    stepped: tuple[str, ...]
    until: datetime


def calendar_of(night: Night, days: int) -> Calendar:
    """The plan's entries from now on, for `days` days or to the end of the day of review, whichever comes first."""
    assert night.plan is not None
    plan, zone = night.plan, night.now.tzinfo
    until = night.now + timedelta(days=days)
    if plan.review_by is not None and plan.review_by >= night.today:
        ends = datetime.combine(plan.review_by + timedelta(days=1), datetime.min.time(), tzinfo=zone)
        until = min(until, ends)
    timed = [feed for feed in plan.feeds if feed.start is not None]
    dates = [night.now + timedelta(days=d) for d in range(-1, days + 1)]
    runs = [(feed, _run(night, feed, day)) for day in dates for feed in timed]
    stepped = {feed.name for feed, (_, changes) in runs if changes}
    when = plan.flushes.when
    found = timetable(
        feeds=[run for _, (run, _) in runs], day_start=night.now, day_end=until, flush=plan.flushes.volume,
        every=plan.flushes.every, before_feed="before_feed" in when, after_feed="after_feed" in when,
        hang_limit=night.hangs_for if plan.formula.form else None)
    rows = [*found.facts["rows"], *_set_changes(night, until)]
    finishes = {(run.name, run.start): run.finish for _, (run, _) in runs}
    entries = [_entry(night, row, finishes) for row in rows if row.what != "feed_finish"]
    entries.sort(key=lambda entry: entry.start.timestamp() if entry.start else 0)
    unknown = tuple(dict.fromkeys(name for name in found.facts["unknown"] if name not in stepped))
    return Calendar((*entries, *_reorder(night, until)), unknown, tuple(sorted(stepped)), until)


def _run(night: Night, feed: Feed, day: datetime) -> tuple[DayFeed, bool]:
    """One feed on one day, without its end where a step makes its rate another than the written one."""
    assert night.plan is not None
    run = day_feed(feed, day, night.plan)
    return run, run.finish is None and feed_time(feed) is not None


def _set_changes(night: Night, until: datetime) -> Iterator[Row]:
    """From the last change that is written down: each time the limit has passed."""
    changes = [event.at for event in night.events if event.kind == "set_changed" and not before(night.now, event.at)]
    changed = max(changes, default=None)
    limit = figures.feeding_set().value
    at = later(changed, limit) if changed else until
    while before(at, until):
        if not before(at, night.now):
            yield Row(at, "set_change", {"limit": limit})
        at = later(at, limit)


def _entry(night: Night, row: Row, finishes: dict[tuple[str, datetime], datetime | None]) -> Entry:
    facts = word.Facts(night, {name: value for name, value in row.facts.items() if value is not None})
    wording = word.pick(table("calendar_en")["rows"][row.what], facts, ())
    assert wording is not None, row.what
    feed = str(row.facts.get("feed", ""))
    finish = finishes.get((feed, row.at)) if row.what == "feed_start" else None
    note = table("calendar_en")["says"]["set_note"] if row.what == "set_change" else ""
    return Entry(row.what, facts.text(wording["text"]), row.at, finish, None, note, feed)


def _reorder(night: Night, until: datetime) -> Iterator[Entry]:
    """The day to order by, by the count in the plan; today where that day has passed."""
    assert night.plan is not None
    plan, daily = night.plan, planned_day(night)
    supplies, container = plan.supplies, plan.formula.container
    if supplies.containers is None or supplies.reorder_lead is None or container is None or daily is None:
        return
    if plan.equipment.priming_volume is not None:
        pumps = sum(feed.method == "pump" for feed in plan.feeds)
        daily = (daily + plan.equipment.priming_volume * pumps).to("mL")
    with suppress(CannotAnswer):
        found = supply(today=night.today, stock=qty(supplies.containers, "1"), counted=supplies.counted,
                       container=container, daily=daily, reorder_lead=supplies.reorder_lead,
                       keeps=plan.formula.form != "closed_bag")
        by = found.facts.get("whole_reorder_by", found.figures["reorder_by"].value)
        day = max(by, night.today)
        if day < until.date():
            yield Entry("reorder", table("calendar_en")["says"]["reorder"], day=day)


def ics(night: Night, made: Calendar, place: str) -> bytes:
    """The calendar as RFC 5545 writes it. `place` keeps the ids of one household apart, and the same each time.

    Raises ImportError where the extra [calendar] is not installed.
    """
    from icalendar import Calendar as File

    says = table("calendar_en")["says"]
    file = File()
    file.add("prodid", "-//Bagside//Tube feeding at home//EN")
    file.add("version", "2.0")
    file.add("method", "PUBLISH")
    file.add("x-wr-calname", says["name"])
    issued = night.plan.issued if night.plan else None
    note = says["note"].format(issued=issued.isoformat()) if issued else says["note_undated"]
    for entry in made.entries:
        file.add_component(_event(entry, note, night.now, place))
    # a year on both sides: programs that know a zone by its name use the rules of one file for the next one, too
    file.add_missing_timezones(night.today - YEAR, made.until.date() + YEAR)
    return bytes(file.to_ical())


def _event(entry: Entry, note: str, now: datetime, place: str) -> Any:
    from icalendar import Alarm, Event

    event, begins = Event(), entry.day or _written(entry.start)
    own = f"{place} {entry.what} {entry.feed} {(entry.start or entry.day or now).isoformat()}"
    event.add("uid", f"{uuid5(NAMESPACE_URL, own)}@bagside")
    event.add("dtstamp", now.astimezone(UTC).replace(microsecond=0))
    event.add("dtstart", begins)
    if entry.finish is not None:
        event.add("dtend", _written(entry.finish))
    event.add("summary", entry.title)
    event.add("description", " ".join(part for part in (entry.note, note) if part))
    event.add("transp", "TRANSPARENT")
    lead = table("calendar_en")["lead"].get(entry.what, 0)
    event.add_component(_alarm(Alarm(), ALARM_ON_A_DAY if entry.day else timedelta(minutes=-lead), entry.title))
    if entry.finish is not None:
        ends = table("calendar_en")["says"]["ends"].format(feed=entry.feed)
        event.add_component(_alarm(Alarm(), timedelta(0), ends, related="END"))
    return event


def _alarm(alarm: Any, trigger: timedelta, title: str, **parameters: str) -> Any:
    alarm.add("action", "DISPLAY")
    alarm.add("trigger", trigger, parameters=parameters or None)
    alarm.add("description", title)
    return alarm


def _written(at: datetime | None) -> datetime:
    """In the plan's zone; in UTC where the local time comes twice and this is the second.

    Through UTC first: a plan's time that the clocks skip is written as the time that stands on the clock then.
    """
    assert at is not None
    at = at.replace(microsecond=0).astimezone(UTC).astimezone(at.tzinfo)
    return at.astimezone(UTC) if at.fold else at
