"""When the acts of a message were done, and what each was: put on, paused, on again, stopped (see acts.py)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from assistant.acts import Act
from assistant.hear.clock import resolve
from assistant.message import Reading

KIND = {"start": "feed_started", "resume": "resumed", "pause": "paused", "stop": "stopped", "flush": "flushed",
        "pour": "poured", "rate": "rate_changed", "vomit": "vomited"}
MOST_APART = timedelta(hours=20)  # one night's acts: more than that apart, a time was not what it seemed
AFTER = {"paused": "resumed", "feed_started": "stopped"}  # what comes at the end of an act that is told with one
ANY_TIME = ("flushed", "poured", "vomited")  # may be told out of order


@dataclass(frozen=True)
class Done:
    """An act with its instant; `kind` as in rules.feed_log.KINDS."""

    kind: str
    at: datetime
    volume: Reading | None = None
    rate: Reading | None = None


def _kinds(acts: tuple[Act, ...], going: bool) -> list[str]:
    """What each act was, by those before and after it. `going`: the log has a feed on, or paused."""
    kinds, on = [], going
    for place, act in enumerate(acts):
        later = {a.what for a in acts[place + 1 :]} & {"on", "resume"}
        if act.what == "on":
            kind = "resumed" if on else "feed_started"
        elif act.what == "hang":  # what hangs is not yet on, where the start is told after it
            kind = "poured" if {a.what for a in acts[place + 1 :]} & {"on", "start"} else "feed_started"
        elif act.what in ("off", "stop"):
            over = act.what == "stop" or act.for_good
            kind = "paused" if act.until or act.lasted or (later and not over) else "stopped"
        else:
            kind = KIND[act.what]
        on = on or kind == "feed_started"
        on = on and kind != "stopped"
        kinds.append(kind)
    return kinds


def done(acts: tuple[Act, ...], now: datetime, going: bool) -> tuple[Done, ...]:
    """The acts with their instants, each the last such time before the one that follows; empty where that fails."""
    found: list[Done] = []
    following = now
    for kind, act in reversed(list(zip(_kinds(acts, going), acts, strict=True))):
        if act.clock is None and len(acts) > 1 and not act.now:
            return ()
        latest = now if kind in ANY_TIME else following
        seen_from = now if act.day is not None else latest  # "last night" is the night before now
        at = now if act.clock is None else resolve(act.clock, seen_from, "past", act.day)[0]
        after = _over_at(act, at, now) if kind in AFTER else None
        if at > latest or latest - at > MOST_APART or (after is not None and after > latest and after != now):
            return ()
        if after is not None:
            found.append(Done(AFTER[kind], after))
        found.append(Done(kind, at, act.volume, act.rate))
        following = following if kind in ANY_TIME else at
    return tuple(sorted(found, key=lambda d: d.at.timestamp()))


def _over_at(act: Act, at: datetime, now: datetime) -> datetime | None:
    """When a pause or a feed that began then was over; None where that is not told, or is still to come."""
    if act.until == "now":
        return now
    if isinstance(act.until, Reading):
        return resolve(act.until, at, "future", None)[0]
    if act.lasted is not None and at + _length(act.lasted) <= now:
        return at + _length(act.lasted)
    return None


def _length(reading: Reading) -> timedelta:
    names = {"s": "seconds", "min": "minutes", "h": "hours", "day": "days", "week": "weeks"}
    return timedelta(**{names[reading.unit]: float(reading.value)})
