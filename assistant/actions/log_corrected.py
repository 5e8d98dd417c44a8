"""What an entry becomes when it is put right, and what is said beside one that differs from the order."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

from assistant.actions import Turn
from assistant.hear import hear
from assistant.hear.clock import resolve
from assistant.night import Night, rate_on
from assistant.slots import Ask, Slots
from rules.clock import between, later
from rules.feed_state import Event
from rules.quantity import Quantity

HALF_PAST, SAME = 30, timedelta(minutes=2)
OF_A_RUN = ("feed_started", "paused", "resumed", "stopped")


def nearest(slots: Slots, old: Event, at: datetime) -> datetime:
    """ "No, it was eight": the eight o'clock nearest to what was told first, and past."""
    spoken = slots.spoken.get("start")
    if spoken is None:
        return at
    reading, found = spoken.reading("clock"), [at]
    if reading is not None and reading.unit == "hand":  # "ten past": of the hour it was
        if reading.value <= HALF_PAST and old.at.minute == 0:  # "at nine", "no, half past": of that hour
            return old.at.replace(minute=int(reading.value))
        return resolve(reading, old.at, "nearest", None)[0]
    if reading is None:  # "eight": a bare number, made a clock time
        return min(at, at - timedelta(hours=12), key=lambda t: abs(t - old.at))
    for hours in (6, 12):  # a clock time without am or pm comes round every twelve hours, one with it every day
        other = resolve(reading, old.at + timedelta(hours=hours), "past", None)[0]
        found += [other] if other is not None and other <= slots.night.now else []
    return min(found, key=lambda t: abs(t - old.at))


def its_end(turn: Turn, old: Event, new: Event) -> list[tuple[Event, Event]]:
    """The end of a pause that was told with its beginning ("at 11, 10 minutes"): it moves as the beginning does."""
    told = turn.talk.wrote[-1]["entries"] if turn.talk.wrote else []
    kinds = [entry["new"]["kind"] for entry in told if entry.get("new")]
    after = [e for e in turn.night.events if e.kind == "resumed" and e.at >= old.at]
    hours = [a for a in hear(turn.talk.wrote[-1]["said"]).amounts if a.readings[0].kind == "clock"] if told else []
    if len(hours) > 1:
        return []  # "off at 11, on at ten past": its end was told by itself
    if old.kind != "paused" or kinds != ["paused", "resumed"] or new.at == old.at or not after:
        return []
    end = min(after, key=lambda e: e.at)
    return [(end, replace(end, at=later(new.at, between(old.at, end.at))))]


def not_again(events: list[Event], night: Night) -> list[Event]:
    """Of a night told over again, what the log does not hold yet ("started 9:15, paused 10:10, back on 10:45").

    Ask where it holds all of it. One act alone is asked about as ever.
    """
    held = [e for e in events if any(o.kind == e.kind and abs(o.at - e.at) <= SAME for o in night.events)]
    if len(events) < 2 or not held or any(e.kind not in OF_A_RUN for e in held):
        return events
    if len(held) == len(events):
        raise Ask("sure", code="log_twice", clash=held[0].at, at=held[0].at)
    return [e for e in events if e not in held]


def other_rate(night: Night, event: Event) -> Quantity | None:
    """The ordered rate, where another one is written down; None where it is the same, or none is known."""
    if event.rate is None:
        return None
    of = [f for f in night.feeds if f.name == event.feed] or [f for f in night.feeds if f.method == "pump"]
    ordered = rate_on(of[0], night.plan, event.at) if len(of) == 1 else None
    return ordered if ordered is not None and ordered != event.rate else None
