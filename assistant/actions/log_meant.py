"""Acts whose kind or time only the log knows: "did another at nine", "it has been at 95 since the start"."""

from __future__ import annotations

from dataclasses import replace

from assistant.message import Reading
from assistant.night import Night
from assistant.numbers.said import Said
from assistant.slots import Ask
from assistant.told.acts import ANOTHER
from assistant.told.acts_fit import Act
from rules.quantity import qty


def of_what_kind(acts: tuple[Act, ...], night: Night) -> tuple[Act, ...]:
    """ "Did another at nine": of the kind that the log has last; by its amount, where that is the plan's flush."""
    if not any(act.what == ANOTHER for act in acts):
        return acts
    last = max(night.events, key=lambda e: e.at.timestamp(), default=None)
    flush = night.plan.flushes.volume if night.plan is not None else None
    what = AGAIN.get(last.kind) if last is not None else None
    made = []
    for act in acts:
        same = flush is not None and act.volume is not None and qty(act.volume.value, "mL") == flush
        by_amount = same and last is not None
        if act.what == ANOTHER and what is None and not by_amount:
            raise Ask("what", code="log_which_kind")
        made.append(replace(act, what="flush" if by_amount or what is None else what) if act.what == ANOTHER else act)
    return tuple(made)


def of_the_feed_on(acts: tuple[Act, ...], told: Said, night: Night) -> tuple[Act, ...]:
    """ "Lunch by gravity, clamped at ten to one": of a lunch that the log has on, its name and no second lunch."""
    ends = sorted((e for e in night.events if e.kind in ("feed_started", "stopped")), key=lambda e: e.at.timestamp())
    on = bool(ends) and ends[-1].kind == "feed_started"  # by the log: its time may have run out
    begun = [e.feed for e in ends]
    named = [feed.name for feed in night.feeds_named(told.lower)]
    if not on or len(acts) < 2 or named != begun[-1:] or acts[0].what != "bolus" or acts[1].what not in HALTED:
        return acts
    name, end = acts[0], acts[1]
    if name.timed and end.timed:
        return acts
    timed = end if end.timed else replace(end, clock=name.clock, ago=name.ago, now=name.now)
    rest, volume = acts[2:], end.volume or name.volume
    if rest and rest[0].what == "bolus" and not rest[0].timed and volume is None:
        rest, volume = rest[1:], rest[0].volume  # "... closed at ten to one, 180 went in"
    return (replace(timed, volume=volume, linked=False), *rest)


HALTED = ("off", "pause", "stop")
AGAIN = {"flushed": "flush", "poured": "pour", "vomited": "vomit", "medicine_given": "medicine"}


def since_when(acts: tuple[Act, ...], told: Said, night: Night) -> tuple[Act, ...]:
    """ "It's been at 95 since the start": from the feed's own start on; "actually at 95": since when is asked."""
    state = night.state
    if len(acts) != 1 or acts[0].what != "rate" or acts[0].clock or acts[0].ago or state is None:
        return acts
    if told.has(*ALL_ALONG) and state.started is not None:
        return (replace(acts[0], clock=Reading("clock", state.started.hour * 60 + state.started.minute, "24h")),)
    if told.has(*FOUND_SO):
        raise Ask("start", code="log_rate_since")
    return acts


ALL_ALONG = (
    r"all along", r"all this time", r"(?:the )?whole (?:time|night)", r"since (?:the )?(?:start|beginning)",
    r"since (?:it|she|he) (?:started|went on)", r"from the (?:start|beginning|off|word go)", r"all (?:night|evening)",
    r"throughout",
)
FOUND_SO = (r"actually", r"turns out", r"been running", r"by mistake", r"found it", r"just (?:seen|noticed|realised)")
