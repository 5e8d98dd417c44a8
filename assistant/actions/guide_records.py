"""Records of a walk-through: a line, a question back with its choices, and what the conversation keeps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from assistant import word
from assistant.actions import Result, Turn
from assistant.household.care_plan import Feed
from assistant.night import Night
from assistant.walk import guides
from assistant.wording.speak import limit

QUIET: dict[str, Any] = {"question": "guide", "slots": {}, "asks": None, "code": None, "choices": ()}


def feed_called(night: Night, name: str | None) -> Feed | None:
    return next((f for f in night.feeds if f.name == name), None)


def title_of(state: Mapping[str, Any]) -> dict[str, str]:
    """The guide's title, and its feed where it is for one."""
    wanted = guides.guide(state["guide"])
    named = state["feed"] if "method" in wanted else None
    return {"title": wanted["title"], "of_feed": guides.lines()["of_feed"].format(feed=named) if named else ""}


def yes_or_no(intent: str, turn: Turn, what: str, facts: Mapping[str, Any], state: dict[str, Any]) -> Result:
    """Leave a safety step out all the same? Start an old guide over? Is the danger over? Write it down?"""
    choices = [{"intent": "guide", "label": guides.lines()[f"{what}_{a}"]} for a in ("yes", "no")]
    facts = {**title_of(state), **facts}
    asked = asks(intent, turn, what, facts, choices, {**state, "asked": what})
    return asked if what == "danger" else Result(asked.record, replace(asked.talk, danger=None))


def line_record(intent: str, night: Night, line: str, facts: Mapping[str, Any], **more: Any) -> dict[str, Any]:
    """A record worded by one of the lines of guide_words_en.toml."""
    lines, filled = guides.lines(), word.Facts(night, facts)
    spoken = lines.get(f"{line}_speech", lines[f"{line}_text"])
    text, speech = filled.text(lines[f"{line}_text"]), limit(filled.speech(spoken))
    return word.record(intent=intent, text=text, speech=speech, sources=("bagside",), **more)


def asks(
    intent: str,
    turn: Turn,
    line: str,
    facts: Mapping[str, Any],
    choices: list[dict[str, Any]],
    state: dict[str, Any] | None,
) -> Result:
    """A question back with its choices; what each stands for is kept in the conversation."""
    shown = [{n: c[n] for n in ("intent", "label")} for c in choices]
    record = line_record(intent, turn.night, line, facts, outcome="asked_back", asks="which_question", choices=shown)
    kept = {**QUIET, "asks": "which_question", "choices": tuple(choices), "guide": state}
    return Result(record, turn.talk.remember(**kept))


def keep(turn: Turn, state: dict[str, Any], record: dict[str, Any], *, shown: bool) -> Result:
    """The guide stays open. `shown`: the last thing said is a step, so a bare "ok" means that it is done."""
    state = {**state, "touched": turn.night.now.isoformat(), "shown": shown}
    danger = turn.talk.danger  # settled by now, unless this guide is help for it
    still = danger is not None and danger["card"] in guides.guide(state["guide"]).get("cards", ())
    kept = {**QUIET, "answer": record, "guide": state, "danger": danger if still else None}
    return Result(record, turn.talk.remember(**kept))


def close(turn: Turn, record: dict[str, Any]) -> Result:
    """The guide is shut."""
    return Result(record, turn.talk.remember(**{**QUIET, "answer": record, "guide": None}))
