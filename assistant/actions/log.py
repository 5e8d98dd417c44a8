"""Writing down what was done: start, pause, resume, stop, flush, pour, how they are; corrections and undo.

Each entry is said back in one line with the clock time used. What is not sure is asked, never guessed.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.actions.compute import asked
from assistant.actions.undo import last_of
from assistant.doubts import beside_the_entry
from assistant.gather._shared import RATE
from assistant.hear import hear
from assistant.hear.clock import resolve
from assistant.night import Night
from assistant.said import said
from assistant.slots import Ask, Slots, Used, Want
from knowledge.library import table
from rules.clock import earlier, later
from rules.feed_state import Event
from rules.log_order import misfit

KIND = {
    "log_start": "feed_started",
    "log_pause": "paused",
    "log_resume": "resumed",
    "log_stop": "stopped",
    "log_flush": "flushed",
    "log_poured": "poured",
    "log_symptom": "symptom",
    "log_rate": "rate_changed",
    "log_set": "set_changed",
    "log_medicine": "medicine_given",
}
CORRECTS = re.compile(r"^(?:no|nope|sorry|actually|correction|wait|i mean|i meant|scratch that|oops|not)\b")
VOMITED = re.compile(r"vomit|threw up|thrown up|throwing up|sick|puk|brought up|spat|spit ?up|posset|barf")
RATED = ("feed_started", "resumed", "rate_changed")
UNMEASURED = ("paused", "set_changed", "rate_changed")


class Log(TurnAction):
    intents = tuple(KIND)

    def do(self, turn: Turn) -> Result:
        carried = turn.question.carried
        if turn.question.follows and "told" in carried:  # what was told before, now that its doubt is settled
            return self._settled(turn, carried)
        slots = self._slots(turn)
        kind = KIND[self.intent]
        try:
            at = when_done(slots)
            if kind == "rate_changed" and slots.get("rate") is None:
                raise Ask("rate")
            events = _events(kind, at, slots, turn)
            beside_the_entry(slots)
            old = _to_correct(turn.night, kind) if CORRECTS.match(turn.said.heard.text.lower()) else None
            if old is not None:
                return self._corrected(turn, slots, old, at)
            _fits(turn.night, events)
        except Ask as ask:
            if ask.code in DOUBTS:
                slots.used["told"] = Used(turn.said.heard.text, "question")
                slots.used["at"] = Used(at, "question")
            return asked(turn, ask, slots)
        return _done(turn, self.intent, events, _written(events, turn.said.heard.text))

    def _slots(self, turn: Turn) -> Slots:
        slots = Slots(turn.said, turn.night, turn.question.carried, turn.question.favours)
        slots.assign(
            start=Want("clock", ("start", "opened", "last_done", "clock_now", "finish")),
            now=Want("clock", ("clock_now",), shy=0.1),
            until=Want("clock", ("finish",), shy=0.5),
            ago=Want("time", ("ago", "off"), bare=False),
            volume=Want("volume", ("hung", "given", "left", "flush", "total")),
            rate=RATE,
        )
        return slots

    def _corrected(self, turn: Turn, slots: Slots, old: Event, at: datetime) -> Result:
        """The entry put right: what was said anew counts, the rest stays. The old one stays in the file, marked."""
        timed = "start" in slots.spoken or "ago" in slots.spoken
        said_anew = {n: v for n in ("volume", "rate") if (v := slots.get(n)) is not None}
        new = replace(old, at=_nearest(slots, old, at) if timed else old.at, **said_anew)
        others = tuple(e for e in turn.night.events if e is not old)
        _fits(replace(turn.night, events=others), [new])
        written = [{"write": "correct", "old": old, "event": new, "said": turn.said.heard.text}]
        return _done(turn, self.intent, [new], written, old)

    def _settled(self, turn: Turn, carried: Mapping[str, Used]) -> Result:
        """Yes, write it; or the start (of the feed, of the pause) that was missing, and then what was told first."""
        text, at = carried["told"].value, carried["at"].value
        first = replace(turn, said=said(hear(text)), question=replace(turn.question, carried={}, favours=None))
        events = _events(KIND[self.intent], at, self._slots(first), first)
        slots = self._slots(turn)
        if turn.talk.code == "log_no_start" or slots.spoken:
            try:
                began = when_done(slots)
                feed = turn.night.feed_for(text)
                start = Event(began, "feed_started", None, slots.get("rate"), feed.name if feed else None)
                start = start if turn.talk.code == "log_no_start" else Event(began, "paused")
                _fits(replace(turn.night, events=(*turn.night.events, start)), events)
            except Ask as ask:
                slots.used.update({n: carried[n] for n in ("told", "at")})
                return asked(turn, ask, slots)
            events = [start, *events]
        old = _to_correct(turn.night, KIND[self.intent]) if CORRECTS.match(text.lower()) else None
        if old is None:
            return _done(turn, self.intent, events, _written(events, text))
        new = replace(old, at=at)
        first_of = _written(events[:-1], text)
        written = [*first_of, {"write": "correct", "old": old, "event": new, "said": text}]
        return _done(turn, self.intent, [*events[:-1], new], written, old)


def _nearest(slots: Slots, old: Event, at: datetime) -> datetime:
    """ "No, it was eight": the eight o'clock nearest to what was told first, and past."""
    spoken = slots.spoken.get("start")
    if spoken is None:
        return at
    reading, found = spoken.reading("clock"), [at]
    if reading is None:  # "eight": a bare number, made a clock time
        return min(at, at - timedelta(hours=12), key=lambda t: abs(t - old.at))
    for hours in (6, 12):  # a clock time without am or pm comes round every twelve hours, one with it every day
        other = resolve(reading, old.at + timedelta(hours=hours), "past", None)[0]
        found += [other] if other is not None and other <= slots.night.now else []
    return min(found, key=lambda t: abs(t - old.at))


DOUBTS = tuple(
    f"log_{code}" for code in ("no_start", "paused_already", "not_paused", "ended_already", "running_already", "twice")
)


def _fits(night: Night, events: list[Event]) -> None:
    """Entries that do not fit the log are asked about."""
    log = night.events
    for event in events:
        found = misfit(log, event, **night.plan_of_feed(event.at))
        if found is not None:
            code, clash = found
            what = table("sentences_en")["log"]["kinds"][event.kind]
            asks = "start" if code == "no_start" else "sure"
            raise Ask(asks, code=f"log_{code}", clash=clash, at=event.at, what=what)
        log = (*log, event)


def _written(events: list[Event], text: str) -> list[dict[str, Any]]:
    return [{"write": "event", "event": e, "said": text} for e in events]


def when_done(slots: Slots) -> datetime:
    """When it happened: the time said, so long ago, or now. A time still to come is asked about."""
    ago = slots.get("ago")
    at = slots.instant("start", "past")
    if at is None and ago is not None and slots.said.has("ago", "earlier", "back"):
        at = earlier(slots.night.now, ago)
    if at is None:
        return slots.night.now
    if at > slots.night.now and slots.day() in ("tonight", "today") and slots.spoken.get("start") is not None:
        reading = slots.spoken["start"].reading("clock")  # "tonight", said after midnight, is the evening before
        at = resolve(reading, slots.night.now, "past", None)[0] if reading is not None else at
    if at > slots.night.now + timedelta(minutes=1):
        raise Ask("start", code="log_future")
    return at


def _events(kind: str, at: datetime, slots: Slots, turn: Turn) -> list[Event]:
    night, volume, rate = turn.night, slots.get("volume"), slots.get("rate")
    feed = night.feed_for(turn.said.heard.text)
    name = feed.name if feed else None
    if (
        kind == "feed_started"
        and slots.said.has("took", "had", "gave", "given", "done", "went down")
        and volume is not None
        and feed is not None
        and feed.method != "pump"
    ):
        return [Event(at, "feed_started", feed.volume, None, name), Event(at, "stopped", volume, None, name)]
    if kind == "symptom" and VOMITED.search(turn.said.heard.text.lower()):
        return [Event(at, "vomited", volume, None, None)]
    if kind == "paused" and "until" in slots.used:
        until = slots.instant("until", "past")
        if until is not None and at < until <= night.now:
            return [Event(at, "paused"), Event(until, "resumed")]
    off = slots.get("ago")
    if kind in ("paused", "stopped") and off is not None and not slots.said.has("ago", "earlier", "back"):
        again = later(at, off)  # "stopped at ten for 20 minutes"
        return [Event(at, "paused"), *([Event(again, "resumed")] if again <= night.now else [])]
    if kind == "flushed" and volume is None and night.plan is not None:
        volume = night.plan.flushes.volume
    named = name if kind in ("feed_started", "poured") else None
    return [
        Event(
            at, kind, volume if kind not in UNMEASURED else None, rate if kind in RATED else None, named
        )
    ]


def _to_correct(night: Night, kind: str) -> Event | None:
    """The entry that a correction means: the last of its kind; a stop that was logged as a pause is one too."""
    return last_of(night, kind) or (last_of(night, "paused") if kind == "stopped" else None)


def _done(
    turn: Turn, intent: str, events: list[Event], written: list[dict[str, Any]], old: Event | None = None
) -> Result:
    lines = table("sentences_en")["log"]
    text, speech = [], []
    for event in events:
        facts = word.Facts(turn.night, {"at": event.at, "volume": event.volume, "rate": event.rate, "feed": event.feed})
        entry: Mapping[str, Any] | None = word.pick(lines[event.kind], facts, ())
        assert entry is not None
        text.append(facts.text(entry["text"]))
        speech.append(facts.speech(entry["speech"]))
    record = word.record(
        intent=intent,
        outcome="done",
        text="\n".join([*text, *_was(turn.night, old), lines["undo_hint"]]),
        speech=word.limit(" ".join(speech)),
        sources=("feed-log",),
    )
    return Result(
        record,
        turn.talk.remember(
            question=intent, slots={}, asks=None, code=None, choices=(), last_slot="start", answer=record
        ),
        tuple(written),
    )


def _was(night: Night, old: Event | None) -> list[str]:
    """What the entry said before it was put right."""
    if old is None:
        return []
    lines = table("sentences_en")["log"]
    facts = word.Facts(night, {"at": old.at, "what": lines["kinds"].get(old.kind, old.kind), "volume": old.volume})
    return [facts.text(lines["was_volume" if old.volume is not None else "was"])]
