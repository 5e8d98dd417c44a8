"""The household at a glance: the running feed, what is due, the log. Figures for programs, words for the page."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from assistant import word
from assistant.night import Night
from assistant.wording.record import plain_value
from assistant.wording.show import clock, show
from knowledge.library import table
from rules.clock import before, between
from rules.running import Running

ENDED_SHOWN = timedelta(hours=2)  # an ended feed is still what the strip is about
SOON = timedelta(hours=12)  # reminders that the page lists


def state_of(night: Night, fault: str | None) -> dict[str, Any]:
    """All of it as plain JSON: `feed` has the figures, unrounded; `strip` has them in words."""
    found = _shown(night)
    return {
        "now": night.now.isoformat(timespec="seconds"),
        "feed": None if found is None else _figures(found),
        "strip": strip(night, found),
        "due": reminders(night, due=True),
        "reminders": reminders(night, due=False),
        "fault": fault,
    }


def _shown(night: Night) -> Running | None:
    """The feed that is on, or ended a short while ago."""
    found = night.running
    ended = found.state.stopped_at if found else None
    return None if ended is not None and night.now - ended > ENDED_SHOWN else found


def _figures(found: Running) -> dict[str, Any]:
    state = found.state
    values = {
        "given": state.given, "left": state.left, "limit": state.limit, "rate": state.rate, "started": state.started,
        "paused_since": state.paused_since, "stopped_at": state.stopped_at,
        "ends_at": state.ends_at if state.running else None, "discard_at": found.discard_at,
        "next_flush": found.next_flush,
    }
    known = {n: None if v is None else plain_value(v) for n, v in values.items()}
    return {"name": state.feed, "running": state.running, **known}


def strip(night: Night, found: Running | None) -> dict[str, Any]:
    """Title, the one time that matters most, the rows beneath it, and how full the bar is (of 100)."""
    words = table("page_en")["strip"]
    if found is None:
        return {"title": words["none"], "main": None, "rows": [], "share": None, "next": next_feed(night), "on": ""}
    state = found.state
    on = "ended" if state.stopped_at else "running" if state.running else "paused"
    facts = word.Facts(night, {"feed": state.feed or words["a_feed"], "since": state.paused_since,
                               "at": state.stopped_at})
    return {
        "title": facts.text(words[on]),
        "main": _main(night, found) if on == "running" else None,
        "rows": _rows(night, found),
        "share": share_of(state.given, state.limit),
        "next": next_feed(night) if on == "ended" else None,
        "on": on,
    }


def _main(night: Night, found: Running) -> dict[str, str] | None:
    """When the feed is through, and how long that is from now."""
    ends = found.state.ends_at
    if ends is None:
        return None
    words = table("page_en")["strip"]
    facts = word.Facts(night, {"ends": ends, "left": between(night.now, ends)})
    return {"label": words["ends"], "value": facts.text("{ends}"), "beside": facts.text(words["in_time"])}


def _rows(night: Night, found: Running) -> list[dict[str, Any]]:
    """Given, left, discard and flush. What is not known has no row; what is past says so in words."""
    words, state = table("page_en")["strip"], found.state
    on = state.stopped_at is None
    values: dict[str, Any] = {
        "given": state.given, "left": state.left if on else None, "rate": state.rate if on else None,
        "discard": found.discard_at, "flush": found.next_flush,
    }
    rows = []
    for name, value in values.items():
        if value is None:
            continue
        late = isinstance(value, datetime) and before(value, night.now)
        early = name == "discard" and state.running and state.ends_at is not None and before(value, state.ends_at)
        template = words["late"] if late else words["before_end"] if early else "{value}"
        text = word.Facts(night, {"value": value}).text(template)
        rows.append({"name": name, "label": words[name], "value": text, "late": late or early})
    if state.given is None and on:
        rows.insert(0, {"name": "given", "label": words["given"], "value": words["not_known"], "late": False})
    return rows


def share_of(given: Any, limit: Any) -> int | None:
    """How much of the amount is in, of 100: for the bar's length only."""
    if given is None or limit is None or not limit.magnitude:
        return None
    return min(100, int((given / limit).to("").magnitude * 100))


def next_feed(night: Night) -> str | None:
    """The plan's next feed by the clock."""
    times = []
    for feed in night.feeds:
        if feed.start is not None:
            today = datetime.combine(night.today, feed.start, tzinfo=night.now.tzinfo)
            times.append((today if today > night.now else today + timedelta(days=1), feed.name))
    if not times:
        return None
    at, name = min(times)
    return word.Facts(night, {"at": at, "feed": name}).text(table("page_en")["strip"]["next"])


def reminders(night: Night, *, due: bool) -> list[dict[str, str]]:
    """Those that are due (they ring until somebody has seen them), or those to come."""
    found = []
    for one in night.reminders:
        at = datetime.fromisoformat(one["due"]).astimezone(night.now.tzinfo)
        if (at <= night.now) == due and (due or at - night.now <= SOON):
            words = table("page_en")["reminders"]["due" if due else "to_come"]
            text = word.Facts(night, {"at": at, "what": one["what"]}).text(words)
            found.append({"id": one.get("id", ""), "at": at.isoformat(), "text": text})
    return found


def log_rows(night: Night, since: timedelta = timedelta(days=2)) -> list[dict[str, str]]:
    """The log of the last days, newest first, as a household reads it."""
    kinds, rows = table("sentences_en")["log"]["kinds"], []
    twelve = bool(night.plan and night.plan.units == word_units())
    for event in sorted(night.events, key=lambda e: e.at.timestamp(), reverse=True):
        if night.now - event.at > since:
            break
        at = event.at.astimezone(night.now.tzinfo)
        amounts = ", ".join(show(a, night.now) for a in (event.volume, event.rate) if a is not None)
        what = f"{kinds.get(event.kind, event.kind)}{f', {event.feed}' if event.feed else ''}"
        day = "" if at.date() == night.today else f"{at:%a} {at.day} {at:%b}"
        rows.append({"at": clock(at, twelve), "day": day, "what": what, "amounts": amounts})
    return rows


def word_units() -> str:
    from assistant.wording.facts import TWELVE_HOUR

    return TWELVE_HOUR
