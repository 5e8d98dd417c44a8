"""Moving about in an open walk-through: one step at a time, back, why, how much again; safety steps stay."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any

from assistant import guides, word
from assistant.actions import Result, Turn
from assistant.guides import Step
from assistant.household.care_plan import Feed
from assistant.night import Night
from assistant.speak import limit, speak
from rules.clock import between
from rules.quantity import as_time, qty

OPEN_TOO_LONG = timedelta(hours=6)
GRAVE = ("emergency", "urgent")
QUIET: dict[str, Any] = {"question": "guide", "slots": {}, "asks": None, "code": None, "choices": ()}


def state_of(night: Night, name: str, feed: Feed | None) -> dict[str, Any]:
    """A guide at its first step, as the conversation keeps it (Talk.guide)."""
    at = night.now.isoformat()
    named = feed.name if feed else None
    return {"guide": name, "step": 0, "feed": named, "started": at, "skipped": [], "touched": at}


def opened(intent: str, turn: Turn, name: str, feed: Feed | None) -> Result:
    return _step(intent, turn, state_of(turn.night, name, feed), first=True)


def moved(intent: str, turn: Turn, state: dict[str, Any], kind: str) -> Result:
    """The turn after `kind` (assistant.guides.MOVES, yes, no)."""
    asked = state.pop("asked", None)
    if kind == "stop" or (asked == "danger" and kind == "no"):
        return _close(turn, line_record(intent, turn.night, "stopped", {}, outcome="done"))
    danger = _danger(turn) if asked != "danger" else state.get("danger")
    if danger and not (asked == "danger" and kind == "yes"):
        return _yes_or_no(intent, turn, "danger", {"said": danger}, {**state, "danger": danger})
    state.pop("danger", None)
    touched = datetime.fromisoformat(state.get("touched", state["started"]))
    if asked not in ("over", "danger") and kind != "over" and between(touched, turn.night.now) > as_time(OPEN_TOO_LONG):
        return _yes_or_no(intent, turn, "over", {"at": qty(state["step"] + 1, "1")}, state)
    if kind == "over" or (asked == "over" and kind == "yes"):
        return opened(intent, turn, state["guide"], feed_called(turn.night, state["feed"]))
    steps = _steps(turn.night, state)
    at = min(state["step"], len(steps) - 1)
    if kind == "skip" and steps[at].must and asked != "skip":
        return _yes_or_no(intent, turn, "skip", {"at": qty(at + 1, "1"), "say": steps[at].text}, state)
    left_out = asked == "skip" and kind in ("yes", "skip")
    if left_out or kind in ("next", "skip"):
        skipped = {*state["skipped"], at} if left_out else {*state["skipped"]} - {at}
        state.update(step=at + 1, skipped=sorted(skipped))
        return _end(intent, turn, state, steps) if at + 1 >= len(steps) else _step(intent, turn, state)
    if kind == "why":
        return _why(intent, turn, state, steps[at])
    state["step"] = max(at - 1, 0) if kind == "back" else at
    return _step(intent, turn, state, amounts=kind == "amounts")


def _danger(turn: Turn) -> str | None:
    """What the last reply was about, where it was grave: no step follows until it is over."""
    last = turn.talk.last
    return last["speech"] if last is not None and last["level"] in GRAVE else None


def feed_called(night: Night, name: str | None) -> Feed | None:
    return next((f for f in night.feeds if f.name == name), None)


def _steps(night: Night, state: Mapping[str, Any]) -> tuple[Step, ...]:
    started = datetime.fromisoformat(state["started"]).astimezone(night.now.tzinfo)
    return guides.steps_for(state["guide"], night, feed_called(night, state["feed"]), started)


def _step(intent: str, turn: Turn, state: dict[str, Any], *, first: bool = False, amounts: bool = False) -> Result:
    night, lines, steps = turn.night, guides.lines(), _steps(turn.night, state)
    index = min(state["step"], len(steps) - 1)
    step = steps[index]
    facts = {"at": qty(index + 1, "1"), "count": qty(len(steps), "1"), **_title(state)}
    shown = word.Facts(night, {**facts, "say": step.text})
    heard = word.Facts(night, {**facts, "say": step.speech[:1].lower() + step.speech[1:]})
    text = [shown.text(lines["first_text"])] if first else []
    text.append(shown.text(lines["amounts_none" if amounts and not step.used else "step_text"]))
    if step.must:
        text.append(lines["must"].format(why=step.why))
    if step.source != "common-practice":
        text.append(word.source_line((step.source,)))
    speech = heard.speech(lines["step_speech"])
    record = word.record(
        intent=intent,
        outcome="done",
        text="\n".join(text),
        speech=f"{heard.speech(lines['first_speech'])} {speech}" if first else speech,
        night=night,
        figures=step.figures,
        used=step.used,
        sources=(step.source,),
        place=step.place,
    )
    return _keep(turn, state, record)


def _title(state: Mapping[str, Any]) -> dict[str, str]:
    wanted = guides.guide(state["guide"])
    named = state["feed"] if "method" in wanted else None
    return {"title": wanted["title"], "of_feed": guides.lines()["of_feed"].format(feed=named) if named else ""}


def _why(intent: str, turn: Turn, state: dict[str, Any], step: Step) -> Result:
    why = step.why or guides.lines()["no_why"]
    record = word.record(
        intent=intent,
        outcome="answered",
        text="\n".join((guides.lines()["why_text"].format(why=why), word.source_line((step.source,)))),
        speech=limit(why),
        night=turn.night,
        sources=(step.source,),
        place=step.place,
    )
    return _keep(turn, state, record)


def _end(intent: str, turn: Turn, state: Mapping[str, Any], steps: Sequence[Step]) -> Result:
    """Past the last step: done, and what was left out is said once more."""
    lines, night, skipped = guides.lines(), turn.night, state["skipped"]
    facts, end = word.Facts(night, {}), guides.guide(state["guide"])["end"]
    text, speech = lines["end_text"].format(end=facts.text(end)), facts.speech(end)
    if skipped:
        text += "\n" + lines["skipped_text"].format(steps=" ".join(steps[i].text for i in skipped))
        speech = f"{lines['skipped_speech'].format(count=speak(qty(len(skipped), '1'), night.now))} {speech}"
    record = word.record(
        intent=intent, outcome="done", text=text, speech=limit(speech), night=night, sources=("bagside",)
    )
    return _close(turn, record)


# -- questions back, and what is kept -----------------------------------------------------------------------------


def _yes_or_no(intent: str, turn: Turn, what: str, facts: Mapping[str, Any], state: dict[str, Any]) -> Result:
    """Leave a safety step out all the same? Start an old guide over?"""
    choices = [{"intent": "guide", "label": guides.lines()[f"{what}_{a}"]} for a in ("yes", "no")]
    facts = {"hours": qty(int(OPEN_TOO_LONG.total_seconds()) // 3600, "1"), **_title(state), **facts}
    return asks(intent, turn, what, facts, choices, {**state, "asked": what})


def line_record(intent: str, night: Night, line: str, facts: Mapping[str, Any], **more: Any) -> dict[str, Any]:
    """A record worded by one of the lines of guide_words_en.toml."""
    lines, filled = guides.lines(), word.Facts(night, facts)
    spoken = lines.get(f"{line}_speech", lines[f"{line}_text"])
    text, speech = filled.text(lines[f"{line}_text"]), limit(filled.speech(spoken))
    return word.record(intent=intent, text=text, speech=speech, night=night, sources=("bagside",), **more)


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


def _keep(turn: Turn, state: dict[str, Any], record: dict[str, Any]) -> Result:
    state = {**state, "touched": turn.night.now.isoformat()}
    return Result(record, turn.talk.remember(**{**QUIET, "answer": record, "guide": state}))


def _close(turn: Turn, record: dict[str, Any]) -> Result:
    return Result(record, turn.talk.remember(**{**QUIET, "answer": record, "guide": None}))
