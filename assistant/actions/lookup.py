"""What the log holds: the last of a kind, how long it was off, how often; and the reminders that are set."""

from __future__ import annotations

import re
from datetime import timedelta

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.actions.reminders import reminder_list
from assistant.asked.log_asked import ACTS, RUNNING
from assistant.asked.reminders_meant import LIST
from assistant.follow.turns import PAUSES, pattern
from assistant.household.logged_runs import in_all, pauses
from assistant.night import Night
from knowledge.library import table
from rules.clock import between, midnight
from rules.feed_state import Event
from rules.quantity import qty

OFF = ("paused", "stopped")
RUNS = ("feed_started", "resumed", *OFF)
LOOKS_BACK = timedelta(hours=24)


OF_REMINDERS = re.compile(r"remind|alarm|set(?! (?:it|her|him|the \w+(?: \w+)?) (?:off|away))|prompt")


class LogLookup(TurnAction):
    """What the log holds, in its own times and amounts."""

    intents = ("log_lookup",)

    def do(self, turn: Turn) -> Result:
        night, text = turn.night, turn.said.heard.text.lower()
        text = pattern("remind_of").sub("", text)
        of_reminders = OF_REMINDERS.search(text) and not re.search(r"flush|feed start", text)
        acts = turn.question.favours in (ACTS, RUNNING)
        if turn.question.favours == LIST or (not acts and of_reminders and _kind(text) != "set_changed"):
            return Result(reminder_list(night), turn.talk.remember(question="remind", slots={}, asks=None, choices=()))
        if turn.question.favours == RUNNING or _asks("on_or_off", text):
            rows = _state(night)
        elif _asks("since_it", text):
            rows = _entries(night, _kind(text))
        elif _asks("from_till", text):
            rows = _pauses(night) if pauses(night) and _of_the_log(turn) else _lasted(night)
        elif _asks("pauses", text) or turn.question.favours == PAUSES:
            rows = _pauses(night)
        elif _asks("lasted", text) and _kind(text) != "set_changed":
            rows = _lasted(night)
        elif _asks("count", text):
            rows = _count(night, _kind(text), text)
        elif _asks("sum", text) and not _asks("of_one", text):
            rows = _flushed(night, text)
        else:
            rows = _entries(night, _kind(text))
        record = word.record(
            intent="log_lookup",
            outcome="answered",
            text="\n".join(shown for shown, _ in rows),
            speech=word.limit(" ".join(spoken for _, spoken in rows)),
            sources=("feed-log",),
        )
        return Result(record, turn.talk)


def _of_the_log(turn: Turn) -> bool:
    """Was the last answer about what the log holds, or a pause just written down?"""
    return (turn.talk.last or {}).get("intent") in ("log_lookup", "log_pause", "log_resume", "log_stop")


Rows = list[tuple[str, str]]


def _asks(what: str, text: str) -> bool:
    return bool(re.search(table("log_asked_en")["asks"][what], text))


def _kind(text: str) -> str | None:
    return next((kind for kind, said in table("log_asked_en")["kinds"].items() if re.search(said, text)), None)


def _row(night: Night, name: str, **facts: object) -> tuple[str, str]:
    """A sentence of the log, as it is shown and as it is spoken."""
    made = word.Facts(night, facts)
    sentence = table("sentences_en")["log"][name]
    return made.text(sentence), made.speech(sentence)


def _not_in_log(night: Night, kind: str | None) -> Rows:
    lines = table("sentences_en")["log"]
    what = table("log_asked_en")["none"].get(kind, lines["kinds"].get(kind or "", lines["anything"]))
    return [_row(night, "not_in_log", what=what)]


def _entries(night: Night, kind: str | None) -> Rows:
    """The last entry of a kind; of none that is named, the last six."""
    told = sorted(night.events, key=lambda e: e.at.timestamp())
    found = [e for e in told if kind is None or e.kind == kind] or [e for e in told if kind in OFF and e.kind in OFF]
    state = night.state
    if not found and kind == "stopped" and state is not None and state.stopped_at is not None:
        return [_row(night, "off_since", begun=state.stopped_at)]  # by itself: amount or bag was through
    if not found:
        return _not_in_log(night, kind)
    return [_entry(night, e) for e in (found[-1:] if kind else found[-6:])]


def _state(night: Night) -> Rows:
    """Whether it runs: the last entry that put it on or off, how long the feed has run, since when it is off."""
    told = sorted((e for e in night.events if e.kind in RUNS and e.at <= night.now), key=lambda e: e.at.timestamp())
    if not told:
        return _not_in_log(night, "feed_started")
    state, rows = night.state, [_entry(night, told[-1])]
    if state is not None and state.stopped_at is not None and told[-1].kind != "stopped":
        rows.append(_row(night, "off_since", begun=state.stopped_at))
    elif told[-1].kind not in OFF:
        rows = _lasted(night)
    return rows


def _entry(night: Night, event: Event) -> tuple[str, str]:
    what = table("sentences_en")["log"]["kinds"].get(event.kind, event.kind)
    shape = "row_volume" if event.volume is not None else "row_rate" if event.rate is not None else "row"
    facts = {"at": event.at, "what": what, "volume": event.volume, "rate": event.rate}
    return _row(night, shape, **facts)


def _pauses(night: Night) -> Rows:
    """Each pause of the feed with its times and length, and all of them together."""
    state, found = night.state, pauses(night)
    if not found:
        ended = [_row(night, "off_since", begun=state.stopped_at)] if state and state.stopped_at else []
        return [*_not_in_log(night, "paused"), *ended]
    rows = [
        _row(night, "pause" if p.ended else "pause_open", begun=p.begun, ended=p.ended, length=p.length.to("min"))
        for p in found
    ]
    if len(found) == 1:
        return rows
    total = _row(night, "pauses", length=in_all(found).to("min"))
    return [total, *rows]


def _lasted(night: Night) -> Rows:
    """How long the feed ran, or has run; its pauses are taken out and named."""
    state = night.state
    if state is None or state.started is None:
        return _not_in_log(night, "feed_started")
    until = state.stopped_at or night.now
    name = "lasted" if state.stopped_at else "runs_since"
    facts = {"begun": state.started, "ended": until, "length": between(state.started, until).to("min")}
    rows = [_row(night, name, **facts)]
    if found := pauses(night):
        rows.append(_row(night, "pauses_of_it", length=in_all(found).to("min")))
    return rows


def _lately(night: Night, kind: str, text: str) -> list[Event]:
    since = midnight(night.now) if _asks("today", text) else night.now - LOOKS_BACK
    told = sorted(night.events, key=lambda e: e.at.timestamp())
    return [e for e in told if e.kind == kind and since <= e.at <= night.now]


def _count(night: Night, kind: str | None, text: str) -> Rows:
    """How often, and when: today where that is said, else in the last 24 hours."""
    found = _lately(night, kind, text) if kind is not None else []
    if not found:
        return _not_in_log(night, kind)
    name = "count_today" if _asks("today", text) else "count_day"
    return [_row(night, name, count=qty(len(found), "1")), *(_entry(night, e) for e in found)]


def _flushed(night: Night, text: str) -> Rows:
    """The water of the flushes together; one without its amount is said, and not counted."""
    found = _lately(night, "flushed", text)
    known = [e.volume for e in found if e.volume is not None]
    if not known:
        return _entries(night, "flushed")
    name = "flushed_today" if _asks("today", text) else "flushed_day"
    rows = [_row(night, name, volume=sum(known[1:], known[0]), count=qty(len(known), "1"))]
    return rows + ([_row(night, "flushed_unknown")] if len(known) < len(found) else [])
