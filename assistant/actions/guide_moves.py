"""Moving about in an open walk-through: one step at a time, back, why, how much again; safety steps stay."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from assistant import word
from assistant.actions import Result, Turn
from assistant.actions.guide_log import after_the_end, end
from assistant.actions.guide_records import close, feed_called, keep, line_record, title_of, yes_or_no
from assistant.household.care_plan import Feed
from assistant.night import Night
from assistant.walk import guides
from assistant.walk.guide_amounts import limit_of
from assistant.walk.guides import Step
from assistant.wording.speak import limit
from rules.clock import between
from rules.quantity import Quantity, qty

OPEN_TOO_LONG = qty(6, "h")
CLOSED = {"danger": "closed_for_danger", "running": "closed_running"}  # the line after a no


def state_of(night: Night, name: str, feed: Feed | None) -> dict[str, Any]:
    """A guide at its first step, as the conversation keeps it (Talk.guide)."""
    at = night.now.isoformat()
    named = feed.name if feed else None
    return {"guide": name, "step": 0, "feed": named, "started": at, "skipped": [], "ticks": {}, "touched": at}


def opened(intent: str, turn: Turn, name: str, feed: Feed | None) -> Result:
    """The first step; unless a danger told of is not over, or the log says that this very feed runs."""
    state, now_open = state_of(turn.night, name, feed), turn.talk.guide
    again = now_open is not None and (now_open["guide"], now_open["feed"]) == (name, state["feed"])
    if now_open is not None and again and now_open["step"] and now_open.get("asked") != "log":
        return yes_or_no(intent, turn, "again", {"at": qty(now_open["step"] + 1, "1")}, {**now_open})
    return _fresh(intent, turn, state)


def _fresh(intent: str, turn: Turn, state: dict[str, Any]) -> Result:
    return _held(intent, turn, state, None) or _running(intent, turn, state) or _step(intent, turn, state, first=True)


def moved(intent: str, turn: Turn, state: dict[str, Any], kind: str) -> Result:
    """The turn after `kind` (assistant.walk.guides.MOVES, yes, no)."""
    asked = guides.asking(turn.talk)
    state.pop("asked", None)
    if kind == "stop" or (asked in CLOSED and kind == "no"):
        line = "stopped" if kind == "stop" else CLOSED[str(asked)]
        record = line_record(
            "stop" if kind == "stop" else intent,
            turn.night,
            line,
            {"said": (turn.talk.danger or {}).get("said")},
            outcome="done",
        )
        return close(turn, record)
    held = _held(intent, turn, state, asked if kind == "yes" else None)
    if held is not None:
        return held
    if state["step"] == 0 and not state["ticks"]:
        state["whole"] = state.get("whole") or (asked == "running" and kind == "yes")
        running = _running(intent, turn, state)
        if running is not None or (asked in CLOSED and kind == "yes"):
            return running or _step(intent, turn, state, first=True)
    if kind == "over" or (asked in ("over", "again") and kind == "yes"):
        return _fresh(intent, turn, state_of(turn.night, state["guide"], feed_called(turn.night, state["feed"])))
    touched = datetime.fromisoformat(state["touched"])
    longest = _longest(turn.night)
    if asked not in ("over", "again", "danger") and between(touched, turn.night.now) > longest:
        return yes_or_no(intent, turn, "over", {"at": qty(state["step"] + 1, "1"), "span": longest}, state)
    steps = _steps(turn.night, state)
    if state["step"] >= len(steps) and kind != "back":
        return after_the_end(intent, turn, state, steps, kind if asked == "log" else "")
    return _within(intent, turn, state, steps, kind, skipping=asked == "skip")


def _longest(night: Night) -> Quantity:
    """How long a guide may lie open before it is asked whether to start over; never longer than feed may hang."""
    limit = limit_of(night)
    return OPEN_TOO_LONG if limit is None else min(OPEN_TOO_LONG, limit.limit.to("h"))


def _within(
    intent: str, turn: Turn, state: dict[str, Any], steps: Sequence[Step], kind: str, *, skipping: bool
) -> Result:
    at = min(state["step"], len(steps) - 1)
    if kind == "skip" and steps[at].must and not skipping:
        return yes_or_no(
            intent, turn, "skip", {"at": qty(at + 1, "1"), "say": steps[at].text, "why": steps[at].why}, state
        )
    left_out = kind == "skip" or (skipping and kind == "yes")
    if left_out or kind == "next":
        skipped = {*state["skipped"], at} if left_out and steps[at].must else {*state["skipped"]} - {at}
        ticks = {**state["ticks"]}
        ticks.pop(str(at), None)
        if not left_out:
            ticks[str(at)] = turn.night.now.isoformat()
        state.update(step=at + 1, skipped=sorted(skipped), ticks=ticks)
        return end(intent, turn, state, steps) if at + 1 >= len(steps) else _step(intent, turn, state)
    if kind == "why":
        return _why(intent, turn, state, steps[at])
    if kind == "rate":
        return _amounts(intent, turn, state, steps, at, [i for i, step in enumerate(steps) if step.name == "rate"])
    if kind == "wait":
        record = line_record(intent, turn.night, "wait", {"at": qty(at + 1, "1")}, outcome="done")
        return keep(turn, state, record, shown=False)
    rows = [i for i, step in enumerate(steps) if step.figures or "volume" in step.used]
    if kind == "amounts" and at not in rows:
        return _amounts(intent, turn, state, steps, at, rows)
    state["step"] = max(state["step"] - 1, 0) if kind == "back" else at
    return _step(intent, turn, state)


def _held(intent: str, turn: Turn, state: dict[str, Any], yes_to: str | None) -> Result | None:
    """A danger that was told of comes first: no step until it is said to be over. Yes to that clears it.

    A guide that is help for that very card is not held.
    """
    danger = turn.talk.danger
    if danger is None or yes_to == "danger" or danger["card"] in guides.guide(state["guide"]).get("cards", ()):
        return None
    return yes_or_no(intent, turn, "danger", {"said": danger["said"]}, state)


def _running(intent: str, turn: Turn, state: dict[str, Any]) -> Result | None:
    """The log says that this feed runs: steps for a whole new one could give it twice."""
    ran = turn.night.state
    if (
        state.get("whole")
        or "method" not in guides.guide(state["guide"])
        or ran is None
        or ran.started is None
        or ran.stopped_at is not None
    ):
        return None
    if ran.feed not in (None, state["feed"]):
        return None
    return yes_or_no(intent, turn, "running", {"begun": ran.started}, state)


def _steps(night: Night, state: Mapping[str, Any]) -> tuple[Step, ...]:
    started = datetime.fromisoformat(state["started"]).astimezone(night.now.tzinfo)
    return guides.steps_for(state["guide"], night, feed_called(night, state["feed"]), started)


def _step(intent: str, turn: Turn, state: dict[str, Any], *, first: bool = False) -> Result:
    night, lines, steps = turn.night, guides.lines(), _steps(turn.night, state)
    index = min(state["step"], len(steps) - 1)
    step = steps[index]
    facts = {"at": qty(index + 1, "1"), "count": qty(len(steps), "1"), **title_of(state)}
    shown = word.Facts(night, {**facts, "say": step.text})
    heard = word.Facts(night, {**facts, "say": step.speech[:1].lower() + step.speech[1:]})
    text = [shown.text(lines["first_text"])] if first else []
    text.append(shown.text(lines["step_text"]))
    if step.must:
        text.append(lines["must"])
    if step.source != "common-practice":
        text.append(word.source_line((step.source,)))
    speech = heard.speech(lines["step_speech"])
    record = word.record(
        intent=intent,
        outcome="done",
        text="\n".join(text),
        speech=f"{heard.speech(lines['first_speech'])} {speech}" if first else speech,
        figures=step.figures,
        used=step.used,
        sources=(step.source,),
        place=step.place,
    )
    return keep(turn, state, record, shown=True)


def _why(intent: str, turn: Turn, state: dict[str, Any], step: Step) -> Result:
    why = step.why or guides.lines()["no_why"]
    record = word.record(
        intent=intent,
        outcome="answered",
        text="\n".join((guides.lines()["why_text"].format(why=why), word.source_line((step.source,)))),
        speech=limit(why),
        sources=(step.source,),
        place=step.place,
    )
    return keep(turn, state, record, shown=False)


def _amounts(
    intent: str, turn: Turn, state: dict[str, Any], steps: Sequence[Step], at: int, told: Sequence[int]
) -> Result:
    """ "How much again?", "what rate do I set?": the steps that say it; the nearest is spoken."""
    lines = guides.lines()
    if not told:
        record = line_record(intent, turn.night, "amounts_none", {"at": qty(at + 1, "1")}, outcome="done")
        return keep(turn, state, record, shown=False)
    near = steps[min(told, key=lambda i: (abs(i - at), i))]
    rows = [lines["amounts_row"].format(at=i + 1, say=steps[i].text) for i in told]
    record = word.record(
        intent=intent,
        outcome="answered",
        text="\n".join((*rows, lines["amounts_text"].format(at=at + 1))),
        speech=limit(near.speech),
        figures=near.figures,
        used=near.used,
        sources=(near.source,),
    )
    return keep(turn, state, record, shown=False)
