"""When the acts of a message were done, and what each was: put on, paused, on again, stopped (see acts.py)."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from itertools import pairwise

from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.told.acts_fit import Act

KIND = {"start": "feed_started", "resume": "resumed", "pause": "paused", "stop": "stopped", "flush": "flushed",
        "pour": "poured", "rate": "rate_changed", "vomit": "vomited", "bolus": "given", "medicine": "medicine_given",
        "set": "set_changed"}
MOST_APART = timedelta(hours=20)  # one night's acts: more than that apart, a time was not what it seemed
AFTER = {"paused": "resumed", "feed_started": "stopped"}  # what comes at the end of an act that is told with one
ANY_TIME = ("flushed", "poured", "vomited", "medicine_given", "set_changed")  # may be told out of order
GOING, HALTED = frozenset({"on", "start", "resume"}), frozenset({"off", "pause", "stop"})


@dataclass(frozen=True)
class Done:
    """An act with its instant, and when it was over; `kind` as in rules.feed_log.KINDS, or "given": a whole feed."""

    kind: str
    at: datetime
    act: Act
    over: datetime | None = None


def _kinds(acts: tuple[Act, ...], going: bool) -> list[str]:
    """What each act was, by those before and after it. `going`: the log has a feed on, or paused."""
    kinds: list[str] = []
    on = going
    for place, act in enumerate(acts):
        later = {a.what for a in acts[place + 1 :]} & {"on", "resume"}
        later |= {a.what for a in acts[place + 1 :]} & {"start"} if on else set()
        if act.what == "on" or (act.what == "start" and on and kinds[-1:] == ["paused"]):
            kind = "resumed" if on else "feed_started"
        elif act.what == "hang":  # what hangs is not yet on, where the start is told after it
            kind = "poured" if {a.what for a in acts[place + 1 :]} & {"on", "start"} else "feed_started"
        elif act.what in ("off", "stop"):
            again = any(a.what == "resume" for a in acts[place + 1 :])  # "ran out at 2, topped it up, running again"
            over = (act.what == "stop" and not again) or act.for_good
            kind = "paused" if act.until or act.lasted or ((later or act.for_a_while) and not over) else "stopped"
        else:
            kind = KIND[act.what]
        on = on or kind == "feed_started"
        on = on and kind != "stopped"
        kinds.append(kind)
    return kinds


def untimed(acts: tuple[Act, ...]) -> list[int]:
    """The acts that have no time of their own and none that they share."""
    return [at for at, whose in enumerate(_whose_time(acts)) if whose is None]


def _whose_time(acts: tuple[Act, ...]) -> list[int | None]:
    """For each act the one whose time is its own: itself, or one told in the same sentence ("sick at ten, so I stopped
    it"). A start and a stop never share one, nor do two acts of a kind."""
    if len(acts) > 1 and not any(act.timed for act in acts) and all(_at_once(*two) for two in pairwise(acts)):
        acts = (replace(acts[0], now=True), *acts[1:])  # "flushed it and capped it off": just now
    whose: list[int | None] = [at if act.timed else None for at, act in enumerate(acts)]
    for at, act in enumerate(acts):
        ends = at and act.what in GOING and acts[at - 1].what in HALTED and (acts[at - 1].until or acts[at - 1].lasted)
        owner = whose[at - 1] if at else None
        near = act.linked or act.beside
        if whose[at] is None and owner is not None and near and (ends or _at_once(acts[owner], act)):
            whose[at] = owner
    for at in range(len(acts) - 2, -1, -1):
        after = acts[at + 1]
        if whose[at] is None and after.linked and after.later is None and _at_once(acts[at], after):
            whose[at] = whose[at + 1]
    return whose


def _at_once(one: Act, other: Act) -> bool:
    both = {one.what, other.what}
    return len(both) == 2 and not (both & GOING and both & HALTED) and not both <= HALTED and not both <= GOING


def done(acts: tuple[Act, ...], now: datetime, going: bool, last: datetime | None = None) -> tuple[Done, ...]:
    """The acts with their instants, each the last such time before the one that follows; empty where that fails.

    `last`: when the last entry of the log was made, for "back on twenty minutes later".
    """
    kinds, whose = _kinds(acts, going), _whose_time(acts)
    if None in whose and len(acts) > 1:
        return ()
    times: dict[int, datetime] = {}
    following = now
    for at in reversed(range(len(acts))):  # of the times of day, each before the one told after it
        if whose[at] not in (at, None) or acts[at].later is not None or acts[at].sooner is not None:
            continue
        latest = now if kinds[at] in ANY_TIME else following
        latest = times.get(at + 1, latest) if acts[at].row else latest  # "at 9, 1 and 5": one after the other
        found = _instant(acts[at], latest, now)
        if found > latest or latest - found > MOST_APART:
            return ()
        times[at] = found
        following = following if kinds[at] in ANY_TIME else found
    for at, act in enumerate(acts):  # "on at nine, poured 500 at ten to": of the hour that was told beside it
        beside = next((times[n] for n in (at - 1, at + 1) if n in times and not _by_the_hand(acts[n])), None)
        if at in times and beside is not None and _by_the_hand(act) and act.clock and kinds[at] in ANY_TIME:
            found = resolve(act.clock, beside, "nearest", None)[0]
            times[at] = found if found <= now else times[at]
    made: list[Done] = []
    for at, act in enumerate(acts):
        owner = whose[at]
        if (apart := act.later or act.sooner) is not None:  # "twenty minutes later": after the act before it
            before = times.get(at - 1) if at else last
            if before is None:
                return ()
            times[at] = before + length_of(apart) * (1 if act.later is not None else -1)
        elif owner is not None and owner != at:
            ended = _over_at(acts[owner], times[owner], now) if act.beside == "after" else None
            times[at] = ended or times[owner]
        over = _over_at(act, times[at], now) if kinds[at] in (*AFTER, "given") else None
        following = min((t for i, t in times.items() if i > at and kinds[i] not in ANY_TIME), default=now)
        if times[at] > now or (over is not None and over > following):
            return ()
        if act.what in GOING and made and not act.timed and made[-1].kind == "resumed":
            continue  # "off at ten for five minutes, then on again": told twice
        made.append(Done(kinds[at], times[at], act, over))
        if over is not None and kinds[at] in AFTER:
            made.append(Done(AFTER[kinds[at]], over, replace(act, volume=None, rate=None)))
    return tuple(sorted(made, key=lambda d: d.at.timestamp()))


def _by_the_hand(act: Act) -> bool:
    return act.clock is not None and act.clock.unit == "hand"


def _instant(act: Act, latest: datetime, now: datetime) -> datetime:
    if act.ago is not None:
        return now - length_of(act.ago)
    if act.clock is None:
        return now
    return resolve(act.clock, now if act.day is not None else latest, "past", act.day)[0]  # "last night" is before now


def _over_at(act: Act, at: datetime, now: datetime) -> datetime | None:
    """When a pause or a feed that began then was over; None where that is not told, or is still to come."""
    if act.until == "now":
        return now
    if isinstance(act.until, Reading):
        return resolve(act.until, at, "future", None)[0]
    if act.lasted is not None and at + length_of(act.lasted) <= now:
        return at + length_of(act.lasted)
    return None


def length_of(reading: Reading) -> timedelta:
    """A length of time that was said, in its unit."""
    names = {"s": "seconds", "min": "minutes", "h": "hours", "day": "days", "week": "weeks"}
    return timedelta(**{names[reading.unit]: float(reading.value)})
