"""Turns that are about the conversation: why, again, slower, yes, no, thanks, what can you do, and the honest lines."""

from __future__ import annotations

from dataclasses import replace

from assistant import asking, word
from assistant.actions import Result, Turn, TurnAction
from assistant.turns import pattern
from knowledge.library import table


class Social(TurnAction):
    intents = ("greet", "thanks", "help", "yes", "no", "stop")

    def do(self, turn: Turn) -> Result:
        lines = table("sentences_en")["talk"][self.intent]
        facts = word.Facts(turn.night, {})
        record = word.record(
            intent=self.intent,
            outcome="answered" if self.intent not in ("stop",) else "done",
            text=facts.text(lines["text"]),
            speech=facts.speech(lines["speech"]),
            night=turn.night,
            sources=("bagside",),
        )
        talk = (
            turn.talk
            if self.intent in ("greet", "thanks", "help")
            else replace(turn.talk, asks=None, code=None, choices=())
        )
        return Result(record, talk)


class Again(TurnAction):
    """The last answer once more; slower is one sentence at a time."""

    intents = ("repeat", "slower")

    def do(self, turn: Turn) -> Result:
        last = turn.talk.last
        if last is not None and last["outcome"] != "answered" and pattern("was_it").match(turn.said.heard.text):
            last = turn.talk.answer or last  # "how much was it?" means the sum, not the question back since
        if last is None:
            return _nothing(turn, self.intent)
        speech = (
            last["speech"]
            if self.intent == "repeat"
            else " ... ".join(s.strip() for s in last["speech"].replace("?", "?.").split(". "))
        )
        record = word.record(
            intent=self.intent,
            outcome="answered",
            text=last["text"],
            speech=speech,
            night=turn.night,
            sources=("bagside",),
            defers=last["defers"],
        )
        record["sources"] = last["sources"] or record["sources"]
        return Result(record, turn.talk)


class Explain(TurnAction):
    """Why: the working, what was assumed and from where, and the source."""

    intents = ("explain",)

    def do(self, turn: Turn) -> Result:
        last = turn.talk.answer
        if last is None:
            return _nothing(turn, "explain")
        lines = table("sentences_en")["talk"]["explain"]
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
        record = word.record(
            intent="explain",
            outcome="answered",
            text=text.replace("\n\n", "\n"),
            speech=speech,
            night=turn.night,
            sources=("bagside",),
            working=last["working"],
            defers=last["defers"],
        )
        record["sources"] = last["sources"] or record["sources"]
        return Result(record, turn.talk)


def _said(used: dict[str, object]) -> str:
    value = used["value"]
    return (
        f"{value:,} {used['unit']}".strip()
        if isinstance(value, (int, float)) and not isinstance(value, bool)
        else str(value).replace("T", " ")[:16]
    )


def _nothing(turn: Turn, intent: str) -> Result:
    lines = table("sentences_en")["talk"]["nothing"]
    return Result(
        word.record(
            intent=intent,
            outcome="asked_back",
            text=lines["text"],
            speech=lines["speech"],
            night=turn.night,
            asks="which_question",
        ),
        turn.talk,
    )


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
        lines = table("sentences_en")
        text = lines["not_yet"].format(label=asking.label_of(turn.question.name, turn.question.card).lower())
        return Result(
            word.record(
                intent=turn.question.name,
                outcome="declined",
                text=text,
                speech=lines["not_yet_speech"],
                night=turn.night,
            ),
            turn.talk,
        )
