"""Reminders: set one, list them, take one back."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.actions.compute import asked
from assistant.night import Night
from assistant.slots import Ask, Slots, Want
from assistant.turns import pattern
from knowledge.library import table
from rules.clock import earlier, later

TIMES = ("discard_at", "finish_at", "next_at", "start_at")


def reminder_list(night: Night) -> dict[str, Any]:
    lines = table("sentences_en")["log"]
    if not night.reminders:
        return word.of_the_log("log_lookup", "answered", lines["no_reminders"], night)
    rows, speech = [], []
    for one in night.reminders:
        facts = word.Facts(
            night, {"at": datetime.fromisoformat(one["due"]).astimezone(night.now.tzinfo), "what": one["what"]}
        )
        rows.append(facts.text(lines["reminder_row"]))
        speech.append(facts.speech(lines["reminder_row"]))
    return word.record(
        intent="log_lookup",
        outcome="answered",
        text="\n".join(rows),
        speech=word.limit(" ".join(speech)),
        sources=("feed-log",),
    )


class Remind(TurnAction):
    """Set a reminder at a clock time or after a length of time."""

    intents = ("remind",)

    def do(self, turn: Turn) -> Result:
        night, lines = turn.night, table("sentences_en")["log"]
        slots = Slots(turn.said, night, turn.question.carried, turn.question.favours)
        slots.assign(
            remind=Want("clock", ("start", "finish", "last_done", "opened")),
            after=Want("time", ("ahead", "over", "every"), bare=False),
        )
        at = slots.instant("remind", "future")
        after = slots.get("after")
        what = what_for(turn.said.heard.text)
        if at is None and after is not None and slots.said.has("before"):
            base, what = before_what(turn, what)
            at = earlier(base, after) if base is not None else None
            if at is None or at <= night.now:
                return asked(turn, Ask("remind"), slots)
        elif at is None and after is not None:
            at = later(night.now, after)
        if at is None:
            at, what = by_the_log(night, turn.said.heard.text, what)
        if at is None:
            return asked(turn, Ask("remind"), slots)
        entry = {"due": at.isoformat(), "what": what, "clock_time": "" if after is not None else "yes"}
        wording = {"text": lines["reminder_set"], "speech": lines["reminder_set_speech"]}
        record = word.of_the_log("remind", "done", wording, night, {"at": at, "what": what})
        return Result(
            record,
            turn.talk.remember(
                question="remind", slots={}, asks=None, code=None, choices=(), last_slot="remind", answer=record
            ),
            ({"write": "reminder", "reminder": entry},),
        )


def before_what(turn: Turn, what: str) -> tuple[datetime | None, str]:
    """What "ten minutes before that" counts from: what the log has due, else the time of the last answer."""
    at, named = by_the_log(turn.night, turn.said.heard.text, what)
    figures = (turn.talk.last or {}).get("figures", {})
    for name in TIMES if at is None else ():
        if name in figures:
            return datetime.fromisoformat(figures[name]["value"]), what
    return at, named


def by_the_log(night: Night, text: str, what: str) -> tuple[datetime | None, str]:
    """When the feed ends, what hangs must go or the next flush is due, by the log; None where it does not say."""
    lines, found = table("sentences_en")["log"], night.running
    for name, at in (
        ("discard", found and found.discard_at),
        ("flush", found and found.next_flush),
        ("end", found and found.state.running and found.state.ends_at),
    ):
        if pattern(f"reminds_{name}").search(text):
            return (at, lines[f"reminder_{name}"]) if at and at > night.now else (None, what)
    return None, what


def what_for(text: str) -> str:
    """What the reminder is for, in the speaker's words."""
    found = re.search(
        r"\b(?:to|about|for|that)\s+((?!\d)[a-z].*)$",
        pattern("reminder_time").sub("", text.lower()),
    )
    return found.group(1).strip(" .!?")[:120] if found else table("sentences_en")["log"]["reminder_what"]


class CancelReminder(TurnAction):
    intents = ("cancel_reminder",)

    def do(self, turn: Turn) -> Result:
        night, lines = turn.night, table("sentences_en")["log"]
        if not night.reminders:
            return Result(word.of_the_log("cancel_reminder", "answered", lines["no_reminders"], night), turn.talk)
        text = turn.said.heard.text.lower()
        gone = (
            night.reminders
            if re.search(r"\ball\b|every", text)
            else (
                next(
                    (
                        r
                        for r in reversed(night.reminders)
                        if set(r["what"].split()) & set(text.split()) - {"the", "to", "for", "my", "it"}
                    ),
                    night.reminders[-1],
                ),
            )
        )
        facts = {"what": ", ".join(r["what"] for r in gone)}
        record = word.of_the_log("cancel_reminder", "done", lines["reminder_gone"], night, facts)
        return Result(record, turn.talk, tuple({"write": "cancel", "reminder": r} for r in gone))
