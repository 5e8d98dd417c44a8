"""Taking back an entry: the last one, or the last of the kind or feed that was named."""

from __future__ import annotations

import re

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.night import Night
from knowledge.library import table
from rules.feed_state import Event


def last_of(night: Night, kind: str) -> Event | None:
    return next((e for e in reversed(night.events) if e.kind == kind), None)


class Undo(TurnAction):
    """Take back the last entry, or the last of the kind or feed that was named."""

    intents = ("undo",)

    def do(self, turn: Turn) -> Result:
        night, lines = turn.night, table("sentences_en")["log"]
        if not night.events:
            return Result(word.of_the_log("undo", "answered", lines["nothing"], night), turn.talk)
        gone = _meant(turn)
        facts = {"at": gone[0].at, "what": ", ".join(lines["kinds"].get(e.kind, e.kind) for e in gone)}
        record = word.of_the_log("undo", "done", lines["undone"], night, facts)
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
        if re.search(said, text) and (found := last_of(turn.night, kind)) is not None:
            if kind == "paused" and (back := last_of(turn.night, "resumed")) is not None and back.at > found.at:
                return [back, found]
            return [found]
    return [events[-1]]
