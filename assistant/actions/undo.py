"""Taking back what the last message wrote, or what is named; a name that the log does not have takes back nothing."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from functools import cache

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.actions.compute import asked
from assistant.follow.turns import LOG_TALK, pattern
from assistant.follow.wrote import Entry, told_lately
from assistant.night import Night
from assistant.slots import Ask, Slots
from knowledge.library import table
from rules.feed_state import Event

OFF = ("paused", "stopped")
STEM = 4  # letters by which a word is known again: "beeping", "beeped"


class Undo(TurnAction):
    """Take back what the last message wrote, or what is named: a kind of entry, a feed, a time, what it was about."""

    intents = ("undo",)

    def do(self, turn: Turn) -> Result:
        night, lines = turn.night, table("sentences_en")["log"]
        named = None if turn.question.follows else _named(turn)
        if named is None and _was_only_asked(turn):
            record = word.of_the_log("undo", "answered", lines["not_written"], night)
            return Result(record, replace(turn.talk, asks=None, code=None, choices=(), slots={}))
        if not night.events:
            return Result(word.of_the_log("undo", "answered", lines["nothing"], night), turn.talk)
        gone = named or _last_told(turn)
        if named == []:
            return _asks(turn, "undo_not_there", gone)
        sure = named or turn.question.follows or pattern("undoes").match(turn.said.heard.text)
        if not sure and turn.talk.question not in (*LOG_TALK, "undo"):
            return _asks(turn, "undo_sure", gone)  # nothing was written since: which is meant?
        talk = replace(turn.talk, asks=None, code=None, choices=(), slots={})
        return Result(_taken_back(gone, night), talk, tuple(_write(one) for one in gone))


def _was_only_asked(turn: Turn) -> bool:
    """Was the last thing told for the log only asked about, and not written?"""
    asks, told = turn.talk.asks, turn.talk.question in LOG_TALK
    return asks is not None and bool(turn.talk.unwritten or (told and asks != "which_question"))


def _asks(turn: Turn, code: str, gone: list[Entry]) -> Result:
    kinds = table("sentences_en")["log"]["kinds"]
    what = ", ".join(kinds.get(e.event.kind, e.event.kind) for e in gone)
    return asked(turn, Ask("sure", code=code, what=what, clash=gone[0].event.at), Slots(turn.said, turn.night))


def _taken_back(gone: list[Entry], night: Night) -> dict[str, object]:
    lines, rows, spoken = table("sentences_en")["log"], [], []
    for one in gone:
        kind = lines["kinds"].get(one.event.kind, one.event.kind)
        facts = word.Facts(night, {"at": one.event.at, "what": kind, "before": one.old.at if one.old else None})
        rows.append(facts.text(lines["undone"]["text"]))
        rows += [facts.text(lines["undone_to"])] if one.old else []
        spoken.append(kind)
    said = word.Facts(night, {"what": ", ".join(spoken)}).speech(lines["undone"]["speech"])
    return word.record(
        intent="undo", outcome="done", text="\n".join(rows), speech=word.limit(said), sources=("feed-log",)
    )


def _write(one: Entry) -> dict[str, object]:
    """An entry taken back; one that had put another right gives that its place again."""
    if one.old is None:
        return {"write": "undo", "event": one.event}
    return {"write": "correct", "old": one.event, "event": one.old}


def _last_told(turn: Turn) -> list[Entry]:
    """What the last message wrote; without one in this conversation, the last entry."""
    told = told_lately(turn.talk, turn.night)
    if not told:
        return [Entry(turn.night.events[-1])]
    only = re.search(_words()["the_last"], turn.said.heard.text.lower())
    return list(told[0].entries[-1:] if only else told[0].entries)


def _words() -> dict[str, str]:
    named: dict[str, str] = table("undo_en")["named"]
    return named


@cache
def _kinds() -> re.Pattern[str]:
    return re.compile("|".join(rf"(?P<{kind}>\b(?:{w})\b)" for kind, w in table("undo_en")["kinds"].items()))


def _named(turn: Turn) -> list[Entry] | None:
    """The entries that the words name; none of the log where they name something else; None where they name nothing."""
    text, night = turn.said.heard.text.lower(), turn.night
    phrase = _phrase(text)
    kind = m.lastgroup if (m := _kinds().search(phrase)) else None
    found: list[Event] = list(night.events)
    clocks = [r for s in turn.said.spoken if (r := s.reading("clock")) is not None and s.amount.text.lower() in phrase]
    if clocks:
        found = [e for e in found if any((e.at.hour * 60 + e.at.minute - int(c.value)) % 720 == 0 for c in clocks)]
    feeds = [feed.name for feed in night.feeds_named(text)]
    if feeds and (kind is None or kind in ("feed_started", "stopped")):
        return [Entry(e) for e in _of_a_feed(found, feeds)]
    if kind is not None:
        return [Entry(e) for e in _of_a_kind(found, night.events, str(kind), phrase)]
    if clocks:
        return [Entry(e) for e in found]
    return _by_what_it_was_about(turn, phrase)


def _phrase(text: str) -> str:
    """What stands after "undo", up to where another clause begins; the whole where no such word is said."""
    begins = re.search(_words()["after"], text)
    if begins is None:
        return text
    rest = re.sub(r"^[\W_]*(?:(?:it|that|this|them)\b[ ]*)?", "", text[begins.end() :])
    ends = re.search(_words()["ends"], rest)
    return rest[: ends.start()] if ends else rest


def _of_a_feed(found: list[Event], feeds: list[str]) -> list[Event]:
    """A feed's last start, and its end where it has one."""
    mine = [e for e in found if e.feed in feeds]
    last = [e for e in mine if e.at.date() == mine[-1].at.date()] if mine else []
    return last[-2:] if last and last[-1].kind == "stopped" else last[-1:]


def _of_a_kind(found: list[Event], every: Iterable[Event], kind: str, phrase: str) -> list[Event]:
    """The entry of that kind: the last, or of the place that is said. A pause goes with its end."""
    mine = [e for e in found if e.kind == kind] or [e for e in found if kind in OFF and e.kind in OFF]
    mine = sorted(mine, key=lambda e: e.at.timestamp())
    if not mine:
        return []
    place = 0 if re.search(_words()["first"], phrase) else 1 if re.search(_words()["second"], phrase) else -1
    if place >= len(mine):
        return []
    one = mine[place]
    if one.kind not in OFF:
        return [one]
    after = sorted((e for e in every if e.at >= one.at and e is not one), key=lambda e: e.at.timestamp())
    ends = next((e for e in after if e.kind in (*OFF, "resumed", "feed_started")), None)
    return [one, ends] if ends is not None and ends.kind == "resumed" else [one]


def _by_what_it_was_about(turn: Turn, phrase: str) -> list[Entry] | None:
    """ "The bit about the bath": what the message that told of it wrote."""
    filler = set(_words()["filler"].split())
    about = [w for w in re.findall(r"[^\W\d_]+", phrase) if w not in filler and len(w) >= STEM - 1]
    if not about:
        return None
    for told in told_lately(turn.talk, turn.night):
        words = re.findall(r"[^\W\d_]+", told.said.lower())
        if any(w[:STEM] == a[:STEM] for a in about for w in words):
            return list(told.entries)
    return [] if re.search(_words()["after"], turn.said.heard.text.lower()) else None
