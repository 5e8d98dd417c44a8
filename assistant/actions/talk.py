"""Turns that are about the conversation: why, again, slower, yes, no, thanks, what can you do, and the honest lines."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.asked.terms import TERM, explained
from assistant.danger.danger_stays import COMING, NOT_SO, OVER
from assistant.follow.turns import pattern
from assistant.wording import asking
from assistant.wording.record import source_records
from knowledge.library import table


class Social(TurnAction):
    intents = ("greet", "thanks", "help", "yes", "no", "stop")

    def do(self, turn: Turn) -> Result:
        of_danger = turn.question.favours in (OVER, COMING, NOT_SO)
        lines = table("sentences_en")["talk"][turn.question.favours if of_danger else self.intent]
        outcome = "done" if self.intent == "stop" else "answered"
        record = word.told(self.intent, outcome, lines, turn.night, sources=("bagside",))
        talk = (
            turn.talk
            if self.intent in ("greet", "thanks", "help")
            else replace(turn.talk, asks=None, code=None, choices=())
        )
        return Result(record, replace(talk, danger=None) if turn.question.favours in (OVER, NOT_SO) else talk)


class Again(TurnAction):
    """The last answer once more; slower is one sentence at a time."""

    intents = ("repeat", "slower")

    def do(self, turn: Turn) -> Result:
        last = turn.talk.last
        no_sum = last is not None and (last["outcome"] != "answered" or last["intent"] in Social.intents)
        if no_sum and pattern("was_it").match(turn.said.heard.text):
            last = turn.talk.answer or last  # "how much was it?" means the sum, not what was asked or said since
        if last is None:
            return _nothing(turn, self.intent)
        if turn.question.favours == "figures":
            return Result(last, turn.talk)
        speech = (
            last["speech"]
            if self.intent == "repeat"
            else " ... ".join(s.strip() for s in last["speech"].replace("?", "?.").split(". "))
        )
        return Result(_of_the_last(self.intent, last, last["text"], speech), turn.talk)


class Explain(TurnAction):
    """Why: the working, what was assumed and from where, and the source."""

    intents = ("explain",)

    def do(self, turn: Turn) -> Result:
        if (turn.question.favours or "").startswith(TERM):
            return Result(explained(str(turn.question.favours), turn.night), turn.talk)
        card = turn.talk.last if (turn.talk.last or {}).get("intent") == "caution" else None
        last = card or turn.talk.answer
        if last is None:
            return _nothing(turn, "explain")
        lines = table("sentences_en")["talk"]["explain"]
        if card is not None:
            text = f"{card['text']}\n{word.Facts(turn.night, {}).text(lines['of_a_card'])}"
            record = {**_of_the_last("explain", card, text, card["speech"]), "level": card["level"]}
            return Result(record, turn.talk.remember(answer=card))
        origins = "; ".join(
            f"{name.replace('_', ' ')} {_said(used)} ({lines['origin_' + used['from'].replace(' ', '_')]})"
            for name, used in last["used"].items()
        )
        sources = "; ".join(
            s["title"]
            + (f", {s['publisher']} {s['year']}" if s["publisher"] else "")
            + (f", {s['where']}" if s["where"] else "")
            for s in last["sources"]
        )
        text = "\n".join(
            (
                lines["working"].format(working=last["working"] or last["text"]),
                lines["used"].format(used=origins) if origins else "",
                lines["source"].format(sources=sources),
            )
        )
        speech = word.limit(lines["speech"].format(working=last["speech"]))
        return Result(_of_the_last("explain", last, text.replace("\n\n", "\n"), speech, last["working"]), turn.talk)


def _of_the_last(intent: str, last: Mapping[str, Any], text: str, speech: str, working: str = "") -> dict[str, Any]:
    """A record about an earlier answer, with that answer's sources and its deferral."""
    defers = last["defers"]
    record = word.record(intent=intent, outcome="answered", text=text, speech=speech, working=working, defers=defers)
    return {**record, "sources": last["sources"] or source_records(("bagside",))}


def _said(used: dict[str, object]) -> str:
    value = used["value"]
    return (
        f"{value:,} {used['unit']}".strip()
        if isinstance(value, (int, float)) and not isinstance(value, bool)
        else str(value).replace("T", " ")[:16]
    )


def _nothing(turn: Turn, intent: str) -> Result:
    lines = table("sentences_en")["talk"]["nothing"]
    return Result(word.told(intent, "asked_back", lines, turn.night, asks="which_question"), turn.talk)


class Outside(TurnAction):
    intents = ("out_of_scope",)

    def do(self, turn: Turn) -> Result:
        return Result(asking.out_of_scope(turn.night), turn.talk)


def unclear(turn: Turn) -> Result:
    """At most three choices, likeliest first; else an honest line that names what the assistant can do."""
    choices = [
        {"intent": c.intent, **({"card": c.card} if c.card else {}), "label": asking.label_of(c.intent, c.card)}
        for c in turn.question.choices
    ]
    record = asking.unclear(choices, turn.night)
    if not choices:
        return Result(record, turn.talk)
    return Result(record, replace(turn.talk, asks="which_question", choices=tuple(choices)))


class Unclear(TurnAction):
    intents = ("unclear",)

    def do(self, turn: Turn) -> Result:
        return unclear(turn)


class NotYet(TurnAction):
    """What is understood and cannot be done yet is said plainly."""

    intents = ("not_yet",)

    def do(self, turn: Turn) -> Result:
        question, general = turn.question, table("sentences_en")
        label = asking.label_of(question.name, question.card).lower()
        text = word.Facts(turn.night, {"label": label}).text(general["not_yet"])
        return Result(
            word.record(intent=question.name, outcome="declined", text=text, speech=general["not_yet_speech"]),
            turn.talk,
        )
