"""Reminders: set one, move it, list them, take one back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.actions.compute import asked
from assistant.asked.reminders_meant import LAST_HOUR, MOVE, WHICH, meant, moved_to
from assistant.follow.turns import pattern
from assistant.hear import hear
from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.night import Night
from assistant.numbers.said import Said, said
from assistant.numbers.wants import measure
from assistant.numbers.weighed_roles import as_the_words_say
from assistant.slots import Ask, Slots, Used, Want
from knowledge.library import table
from rules.clock import earlier, later
from rules.quantity import Quantity

TIMES = ("discard_at", "finish_at", "next_at", "start_at")
OF_THE_ORDER = re.compile(
    r"^(?:(?:don'?t|dont|let|forget|instead|daily|please|pls|can|could|would|will|you|just|and|also|another|one|more|a|the|my|me|us|set|give|wake|remind|ring|beep|buzz|ping|nudge|shout|chime|timer|lil|little|wee|"
    r"reminder|reminders|alarm|alarms|two|three|both|tomorrow|tonight|today|morning|again|later|for|then|on|in|at|by|to|about|that|of|up|ok|"
    r"okay|thanks|too|as well|early|before|after|,|\.|!|\?)(?:\s+|$))+"
)


def reminder_list(night: Night) -> dict[str, Any]:
    lines = table("sentences_en")["log"]
    if not night.reminders:
        return word.of_the_log("log_lookup", "answered", lines["no_reminders"], night)
    rows, speech = [], []
    for one in sorted(night.reminders, key=lambda r: r["due"]):
        facts = word.Facts(night, {"at": _due(one, night), "what": one["what"]})
        rows.append(facts.text(lines["reminder_row"]))
        speech.append(facts.speech(lines["reminder_row"]))
    return word.record(
        intent="log_lookup",
        outcome="answered",
        text="\n".join(rows),
        speech=word.limit(" ".join(speech)),
        sources=("feed-log",),
    )


def _due(reminder: dict[str, str], night: Night) -> datetime:
    return datetime.fromisoformat(reminder["due"]).astimezone(night.now.tzinfo)


class Remind(TurnAction):
    """Set a reminder at a clock time or after a length of time; put one that is set at another time."""

    intents = ("remind",)

    def do(self, turn: Turn) -> Result:
        night = turn.night
        told = replace(turn.said, spoken=as_the_words_say(turn.said.spoken))
        slots = Slots(told, night, turn.question.carried, turn.question.favours)
        if night.reminders and turn.question.favours in (MOVE, WHICH):
            return _moved(turn, slots)
        slots.assign(
            remind=Want("clock", ("start", "finish", "last_done", "opened")),
            after=Want("time", ("ahead", "over", "every"), bare=False),
        )
        if (several := _each_time(slots)) is not None:
            return _several(turn, several)
        at = slots.instant("remind", "future") or _bare_hour(slots)
        after = slots.get("after") or _of_a_timer(slots)
        what = slots.carried["what"].value if "what" in slots.carried else what_for(turn.said)
        if at is None and after is not None and slots.said.has("before", "earlier", "ahead of"):
            base, what = before_what(turn, what)
            at = earlier(base, after) if base is not None else None
            before = table("sentences_en")["log"]["reminder_before"]
            what = word.Facts(night, {"ahead": after, "what": what}).text(before)
        elif at is None and after is not None:
            at = later(night.now, after)
        elif at is None and pattern("at_that_time").search(turn.said.lower):
            at, what = before_what(turn, what)
        if at is None and after is None:
            at, what = by_the_log(night, turn.said.heard.text, what)
        if at is None or at <= night.now:
            slots.used["what"] = Used(what, "question")
            return asked(turn, Ask("remind"), slots)
        return _set(turn, at, what, "" if after is not None else "yes")


def _of_a_timer(slots: Slots) -> Quantity | None:
    """ "A timer, twenty minutes": the one length of time of an order that tells no other number."""
    spoken = slots.said.spoken
    length = spoken[0].reading("time") if len(spoken) == 1 else None
    if length is None or not pattern("a_timer").search(spoken[0].before):
        return None
    return measure("time", length, slots.night)


def _bare_hour(slots: Slots) -> datetime | None:
    """ "Wake me up 11 for water": the hour next to come, where the one number of an order stands right behind it."""
    spoken = slots.said.spoken
    hour = spoken[0].reading("number") if len(spoken) == 1 else None
    if hour is None or not 1 <= hour.value <= LAST_HOUR or hour.value != int(hour.value):
        return None
    if not pattern("an_hour_follows").search(spoken[0].before) or not pattern("no_count").match(spoken[0].after):
        return None
    return resolve(Reading("clock", int(hour.value) * 60, "12h"), slots.night.now, "future")[0]


def _set(turn: Turn, at: datetime, what: str, clock_time: str, old: dict[str, str] | None = None) -> Result:
    night, lines = turn.night, table("sentences_en")["log"]
    entry = {"due": at.isoformat(), "what": what, "clock_time": clock_time}
    wording = {"text": lines["reminder_set"], "speech": lines["reminder_set_speech"]}
    record = word.of_the_log("remind", "done", wording, night, {"at": at, "what": what})
    written: list[dict[str, Any]] = [{"write": "reminder", "reminder": entry}]
    if old is not None:
        written.insert(0, {"write": "cancel", "reminder": old})
        record["text"] += "\n" + word.Facts(night, {"at": _due(old, night)}).text(lines["was"])
    talk = turn.talk.remember(
        question="remind",
        slots={"set": Used(at, "question", what)},
        asks=None,
        code=None,
        choices=(),
        last_slot="remind",
        answer=record,
    )
    return Result(record, talk, tuple(written))


def _each_time(slots: Slots) -> list[datetime] | None:
    """ "Reminders at 3 pm and 4 pm": every time of a row; None where one time, or none, is told."""
    timed = [s for s in slots.said.spoken if s.reading("clock") is not None]
    in_a_row = all(s.before in ("and", "", "& ", "&", "then", "and at", "at") for s in timed[1:])
    others = [s for s in slots.said.spoken if s not in timed and not s.after.startswith(("reminder", "alarm"))]
    if len(timed) < 2 or not in_a_row or others:
        return None
    return [resolve(r, slots.night.now, "future")[0] for s in timed if (r := s.reading("clock")) is not None]


def _several(turn: Turn, times: list[datetime]) -> Result:
    """A reminder for each of the times, in one reply."""
    made = [_set(turn, at, what_for(turn.said), "yes") for at in times]
    record = {**made[-1].record, "text": "\n".join(one.record["text"] for one in made)}
    return Result(record, made[-1].talk, tuple(event for one in made for event in one.events))


def _moved(turn: Turn, slots: Slots) -> Result:
    """A reminder that is set, put at another time: the one that is meant, or the question which."""
    order = _order(turn)
    found = meant(turn.night, turn.said, turn.talk, moving=turn.question.favours == MOVE)
    if len(found) != 1:
        return _which(turn, slots, order)
    at = moved_to(_due(found[0], turn.night), order, turn.night)
    if at is None or at <= turn.night.now:
        return asked(turn, Ask("remind"), slots)
    return _set(turn, at, found[0]["what"], found[0]["clock_time"], found[0])


def _order(turn: Turn) -> Said:
    """The words that order it: now, or before "which one?" was asked; "the flush one" is no number."""
    told = turn.question.carried.get("told")
    words = told.value if turn.question.favours == WHICH and told is not None else turn.said.heard.text
    return said(hear(pattern("the_one").sub(r"\1", words)))


def _which(turn: Turn, slots: Slots, order: Said) -> Result:
    """Which of the reminders? Each with its time; the order waits for the answer."""
    night = turn.night
    line = table("sentences_en")["log"]["reminder_choice"]
    rows = [word.Facts(night, {"at": _due(r, night), "what": r["what"]}).text(line)
            for r in sorted(night.reminders, key=lambda r: r["due"])]
    slots.used["told"] = Used(order.heard.text, "question")
    return asked(turn, Ask(WHICH, names=rows), slots)


def before_what(turn: Turn, what: str) -> tuple[datetime | None, str]:
    """What "ten minutes before that" counts from: the log, the reminder just set, the last answer."""
    at, named = by_the_log(turn.night, turn.said.heard.text, what)
    if at is not None:
        return at, named
    last = turn.talk.last or {}
    if last.get("intent") == "remind" and "set" in turn.talk.slots:
        just = turn.talk.slots["set"]
        return just.value, what if what != table("sentences_en")["log"]["reminder_what"] else just.words
    figures = last.get("figures", {})
    for name in TIMES:
        if name in figures:
            lines = table("sentences_en")["log"]
            own = {"discard_at": "reminder_discard", "finish_at": "reminder_end"}.get(name)
            unsaid = what == lines["reminder_what"] and own is not None
            return datetime.fromisoformat(figures[name]["value"]), lines[own] if unsaid else what
    return None, named


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


SO_THAT = re.compile(r"\bso (?:that )?(?:i|we)(?:'ll| will| can| could| remember to| get to)? ((?!\d)[a-z].*)$")


def what_for(order: Said) -> str:
    """What the reminder is for, in the speaker's words: what is left of them without the time and the order itself."""
    kinds = ("clock", "time", "day", "date")
    times = [s.amount for s in order.spoken if s.reading(*kinds) is not None]
    gone = {i for a in times for i in range(a.start, a.end)}
    words = " ".join(t for i, t in enumerate(order.heard.tokens) if i not in gone)
    words = next((w for w in re.split(r" [.?!;] ", words) if re.search(r"\b(?:remind\w*|wake)\b", w)), words)
    words = pattern("at_that_time").sub("", words)
    found = SO_THAT.search(words) or re.search(r"\b(?:to|about|for|that)\s+((?!\d)[a-z].*)$", words)
    left = OF_THE_ORDER.sub("", found.group(1) if found else words)
    left = re.sub(r"(?:\s+(?:at|in|by|for|on|please|pls|too|then|\.|!|\?|,))+$", "", f" {left}").strip(" .!?,")
    return left[:120] or str(table("sentences_en")["log"]["reminder_what"])


class CancelReminder(TurnAction):
    """Take back the reminder that is meant; where that is not sure, ask which."""

    intents = ("cancel_reminder",)

    def do(self, turn: Turn) -> Result:
        night, lines = turn.night, table("sentences_en")["log"]
        if not night.reminders:
            return Result(word.of_the_log("cancel_reminder", "answered", lines["no_reminders"], night), turn.talk)
        gone: Sequence[dict[str, str]] = meant(night, turn.said, turn.talk)
        if len(gone) != 1 and not pattern("all_of_them").search(turn.said.lower):
            slots = Slots(turn.said, night, turn.question.carried, turn.question.favours)
            return _which(turn, slots, turn.said)
        facts = {"what": ", ".join(r["what"] for r in gone)}
        record = word.of_the_log("cancel_reminder", "done", lines["reminder_gone"], night, facts)
        talk = turn.talk.remember(question="cancel_reminder", slots={}, asks=None, code=None, choices=(), answer=record)
        return Result(record, talk, tuple({"write": "cancel", "reminder": r} for r in gone))
