"""Taking back an entry: the last one, or the last of the kind or feed that was named."""

from __future__ import annotations

import re
from dataclasses import replace

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.actions.compute import asked
from assistant.night import Night
from assistant.slots import Ask, Slots
from assistant.turns import LOG_TALK, pattern
from knowledge.library import table
from rules.feed_state import Event


def last_of(night: Night, kind: str) -> Event | None:
    return next((e for e in reversed(night.events) if e.kind == kind), None)


class Undo(TurnAction):
    """Take back the last entry, or the last of the kind or feed that was named."""

    intents = ("undo",)

    def do(self, turn: Turn) -> Result:
        night, lines = turn.night, table("sentences_en")["log"]
        if turn.talk.asks is not None and turn.talk.question in LOG_TALK:  # the last thing told was only asked about
            record = word.of_the_log("undo", "answered", lines["not_written"], night)
            return Result(record, replace(turn.talk, asks=None, code=None, choices=(), slots={}))
        if not night.events:
            return Result(word.of_the_log("undo", "answered", lines["nothing"], night), turn.talk)
        gone = _meant(turn)
        sure = turn.question.follows or pattern("undoes").match(turn.said.heard.text)
        if not sure and turn.talk.question not in (*LOG_TALK, "undo") and not _named(turn):
            what = lines["kinds"].get(gone[0].kind, gone[0].kind)  # nothing was written since: which is meant?
            return asked(turn, Ask("sure", code="undo_sure", what=what, clash=gone[0].at), Slots(turn.said, night))
        facts = {"at": gone[0].at, "what": ", ".join(lines["kinds"].get(e.kind, e.kind) for e in gone)}
        record = word.of_the_log("undo", "done", lines["undone"], night, facts)
        return Result(record, turn.talk, tuple({"write": "undo", "event": e} for e in gone))


WORDS = {
    "flushed": r"flush",
    "paused": r"pause|bath|break|sheets|change",
    "stopped": r"stop",
    "vomited": r"sick|vomit",
    "poured": r"pour",
}


def _named(turn: Turn) -> bool:
    """Do the words name a kind of entry, or a feed?"""
    text = turn.said.heard.text.lower()
    return bool(turn.night.feeds_named(text)) or any(re.search(said, text) for said in WORDS.values())


def _meant(turn: Turn) -> list[Event]:
    text, events = turn.said.heard.text.lower(), turn.night.events
    for feed in turn.night.feeds_named(text):
        mine = [e for e in events if e.feed == feed.name]
        if mine:
            last = [e for e in mine if e.at.date() == mine[-1].at.date()]
            return list(reversed(last[-2:])) if last[-1].kind == "stopped" else [last[-1]]
    for kind, said in WORDS.items():
        if re.search(said, text) and (found := last_of(turn.night, kind)) is not None:
            if kind == "paused" and (back := last_of(turn.night, "resumed")) is not None and back.at > found.at:
                return [back, found]
            return [found]
    return [events[-1]]
