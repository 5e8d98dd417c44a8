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
from assistant.actions.reminders import reminder_list
from assistant.gather._shared import RATE, START
from assistant.hear.clock import resolve
from assistant.night import Night
from assistant.slots import Ask, Slots, Want
from knowledge.library import table
from rules.clock import earlier
from rules.feed_state import Event

KIND = {
    "log_start": "feed_started",
    "log_pause": "paused",
    "log_resume": "resumed",
    "log_stop": "stopped",
    "log_flush": "flushed",
    "log_poured": "poured",
    "log_symptom": "symptom",
}
NEEDS_FEED = frozenset({"paused", "resumed", "stopped"})
CORRECTS = re.compile(r"^(?:no|nope|sorry|actually|correction|wait|i mean|i meant|scratch that|oops|not)\b")
VOMITED = re.compile(r"vomit|threw up|thrown up|throwing up|sick|puk|brought up|spat|spit ?up|posset|barf")
NUMBERS = (RATE, START)


class Log(TurnAction):
    intents = tuple(KIND)

    def do(self, turn: Turn) -> Result:
        slots = Slots(turn.said, turn.night, turn.question.carried, turn.question.favours)
        kind = KIND[self.intent]
        slots.assign(
            start=Want("clock", ("start", "opened", "last_done", "clock_now", "finish")),
            until=Want("clock", ("finish",), shy=0.5),
            ago=Want("time", ("ago", "off"), bare=False),
            volume=Want("volume", ("hung", "given", "left", "flush", "total")),
            rate=RATE,
        )
        try:
            at = when_done(slots)
            if kind in NEEDS_FEED and (turn.night.state is None or turn.night.state.started is None):
                raise Ask("start", code="log_no_start")
        except Ask as ask:
            return asked(turn, ask, slots)
        events = _events(kind, at, slots, turn)
        written: list[dict[str, Any]] = []
        if CORRECTS.match(turn.said.heard.text.lower()) and (old := _to_correct(turn.night, kind)) is not None:
            written.append({"write": "undo", "event": old})
            events = [
                replace(
                    old,
                    at=at,
                    **{
                        n: v for n, v in (("volume", slots.get("volume")), ("rate", slots.get("rate"))) if v is not None
                    },
                )
            ]
        written += [{"write": "event", "event": e, "said": turn.said.heard.text} for e in events]
        return _done(turn, self.intent, events, written)


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
    if kind == "flushed" and volume is None and night.plan is not None:
        volume = night.plan.flushes.volume
    named = name if kind in ("feed_started", "poured") else None
    return [
        Event(
            at, kind, volume if kind != "paused" else None, rate if kind in ("feed_started", "resumed") else None, named
        )
    ]


def _to_correct(night: Night, kind: str) -> Event | None:
    """The entry that a correction means: the last of its kind; a stop that was logged as a pause is one too."""
    return _last(night, kind) or (_last(night, "paused") if kind == "stopped" else None)


def _last(night: Night, kind: str) -> Event | None:
    return next((e for e in reversed(night.events) if e.kind == kind), None)


def _done(turn: Turn, intent: str, events: list[Event], written: list[dict[str, Any]]) -> Result:
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
        text="\n".join([*text, lines["undo_hint"]]),
        speech=word.limit(" ".join(speech)),
        night=turn.night,
        sources=("feed-log",),
    )
    return Result(
        record,
        turn.talk.remember(
            question=intent, slots={}, asks=None, code=None, choices=(), last_slot="start", answer=record
        ),
        tuple(written),
    )


class Undo(TurnAction):
    """Take back the last entry, or the last of the kind or feed that was named."""

    intents = ("undo",)

    def do(self, turn: Turn) -> Result:
        night, lines = turn.night, table("sentences_en")["log"]
        if not night.events:
            record = word.record(
                intent="undo",
                outcome="answered",
                text=lines["nothing"],
                speech=lines["nothing"],
                night=night,
                sources=("feed-log",),
            )
            return Result(record, turn.talk)
        gone = _meant(turn)
        facts = word.Facts(
            night, {"at": gone[0].at, "what": ", ".join(lines["kinds"].get(e.kind, e.kind) for e in gone)}
        )
        record = word.record(
            intent="undo",
            outcome="done",
            text=facts.text(lines["undone"]["text"]),
            speech=facts.speech(lines["undone"]["speech"]),
            night=night,
            sources=("feed-log",),
        )
        return Result(record, turn.talk, tuple({"write": "undo", "event": e} for e in gone))


def _meant(turn: Turn) -> list[Event]:
    text, events = turn.said.heard.text.lower(), turn.night.events
    words = {
        "flushed": r"flush",
        "paused": r"pause|bath|break|sheets|change",
        "stopped": r"stop",
        "vomited": r"sick|vomit",
        "poured": r"pour",
    }
    for feed in turn.night.feeds_named(text):
        mine = [e for e in events if e.feed == feed.name]
        if mine:
            last = [e for e in mine if e.at.date() == mine[-1].at.date()]
            return list(reversed(last[-2:])) if last[-1].kind == "stopped" else [last[-1]]
    for kind, said in words.items():
        if re.search(said, text) and (found := _last(turn.night, kind)) is not None:
            if kind == "paused" and (back := _last(turn.night, "resumed")) is not None and back.at > found.at:
                return [back, found]
            return [found]
    return [events[-1]]


class LogLookup(TurnAction):
    """What the log holds: the last flush, when the feed started, the reminders that are set."""

    intents = ("log_lookup",)

    def do(self, turn: Turn) -> Result:
        night, lines = turn.night, table("sentences_en")["log"]
        text = turn.said.heard.text.lower()
        if re.search(r"remind|alarm|set|prompt", text) and not re.search(r"flush|feed start", text):
            return Result(reminder_list(night), turn.talk)
        wanted = (
            "flushed"
            if re.search(r"flush|water|rinse", text)
            else "vomited"
            if re.search(r"sick|vomit|threw", text)
            else "medicine_given"
            if re.search(r"med|tablet|dose", text)
            else "paused"
            if re.search(r"pause|stop|break", text)
            else "feed_started"
            if re.search(r"start|hang|hung|feed|bag|on", text)
            else None
        )
        found = [e for e in night.events if wanted is None or e.kind == wanted]
        if not found:
            facts = word.Facts(night, {"what": lines["kinds"].get(wanted or "", lines["anything"])})
            record = word.record(
                intent="log_lookup",
                outcome="answered",
                text=facts.text(lines["not_in_log"]),
                speech=facts.speech(lines["not_in_log"]),
                night=night,
                sources=("feed-log",),
            )
            return Result(record, turn.talk)
        shown = found[-1:] if wanted else found[-6:]
        rows = []
        for e in shown:
            facts = word.Facts(night, {"at": e.at, "what": lines["kinds"].get(e.kind, e.kind), "volume": e.volume})
            rows.append(facts.text(lines["row_volume" if e.volume is not None else "row"]))
        facts = word.Facts(night, {"at": shown[-1].at, "what": lines["kinds"].get(shown[-1].kind, shown[-1].kind)})
        record = word.record(
            intent="log_lookup",
            outcome="answered",
            text="\n".join(rows),
            speech=facts.speech(lines["row"]),
            night=night,
            sources=("feed-log",),
        )
        return Result(record, turn.talk)
