"""The end of a walk-through: what was left out, and what may be written down, after a yes and never before."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from assistant import word
from assistant.actions import Result, Turn
from assistant.actions.guide_records import close, feed_called, line_record, yes_or_no
from assistant.household.care_plan import Feed
from assistant.night import Night, feed_volume
from assistant.walk import guides
from assistant.walk.guide_amounts import ordered_rate
from assistant.walk.guides import Step
from assistant.wording.speak import limit, speak
from knowledge.library import table
from rules.feed_state import Event
from rules.quantity import qty

WALKED = "walked_through"  # the entry that holds the ticks; no feed's state rests on it


def entries(night: Night, state: Mapping[str, Any], steps: Sequence[Step], feed: Feed | None) -> list[Event]:
    """What the ticked steps amount to in the feed log, each at the time of its tick."""
    found = []
    for i, step in enumerate(steps):
        tick = state["ticks"].get(str(i))
        if step.log and tick:
            at = datetime.fromisoformat(tick).astimezone(night.now.tzinfo)
            found += _flushed(at, steps) if step.log == "flushed" else _entry(night, step.log, at, feed)
    return found


def _flushed(at: datetime, steps: Sequence[Step]) -> list[Event]:
    """A flush of the amount that the guide named; where it named none, of an amount that is not known."""
    named = next((s.used["flush"].value for s in steps if "flush" in s.used), None)
    return [Event(at, "flushed", named)]


def _entry(night: Night, kind: str, at: datetime, feed: Feed | None) -> list[Event]:
    if kind == "feed_started" and feed is not None:
        rate = ordered_rate(night, feed) if feed.method == "pump" else None
        return [Event(at, kind, feed_volume(feed), rate, feed.name)]
    if kind == "given" and feed is not None:  # a feed by hand that is all in
        return [Event(at, "stopped", feed_volume(feed), None, feed.name)]
    if kind == "stopped":
        ran = night.state
        runs = ran is not None and ran.started is not None and ran.stopped_at is None
        return [Event(at, kind)] if runs else []
    return [Event(at, kind)] if kind in ("set_changed", "medicine_given") else []


def offer_lines(found: Sequence[Event], night: Night) -> str:
    """The entries in words: "feed started, 648 mL, 20:41"."""
    lines, kinds = table("sentences_en")["log"], table("sentences_en")["log"]["kinds"]
    rows = []
    for event in found:
        facts = word.Facts(night, {"at": event.at, "what": kinds[event.kind], "volume": event.volume})
        row = facts.text(lines["row_volume" if event.volume is not None else "row"])
        rows.append("\n- " + guides.THOUSANDS.sub("", row))
    return "".join(rows)


def _written(state: Mapping[str, Any], steps: Sequence[Step], found: Sequence[Event]) -> tuple[dict[str, Any], ...]:
    """The ticks as one entry at the guide's start, then the feed's own entries: "undo" takes the last of these back."""
    done = [f"{step.name} {state['ticks'][str(i)]}" for i, step in enumerate(steps) if str(i) in state["ticks"]]
    said = f"{state['guide']}: {len(done)}/{len(steps)}; {'; '.join(done)}"
    ticks = {"write": "event", "event": Event(datetime.fromisoformat(state["started"]), WALKED), "said": said}
    return (ticks, *({"write": "event", "event": e, "said": state["guide"]} for e in found))


def end(intent: str, turn: Turn, state: dict[str, Any], steps: Sequence[Step]) -> Result:
    """Past the last step: done, what was left out once more, and whether to write it down."""
    lines, night, skipped = guides.lines(), turn.night, state["skipped"]
    facts, end = word.Facts(night, {}), guides.guide(state["guide"])["end"]
    text, speech = [lines["end_text"].format(end=facts.text(end))], facts.speech(end)
    if skipped:
        text.append(lines["skipped_text"].format(steps=" ".join(steps[i].text for i in skipped)))
        speech = lines["skipped_speech"].format(count=speak(qty(len(skipped), "1"), night.now))
    if not state["ticks"]:  # nothing was done: there is nothing to write down
        shown = "\n".join(text)
        record = word.record(intent=intent, outcome="done", text=shown, speech=limit(speech), sources=("bagside",))
        return close(turn, record)
    asked = _log_question(intent, turn, state, steps)
    record = {
        **asked.record,
        "text": "\n".join((*text, asked.record["text"])),
        "speech": limit(f"{speech} {lines['log_speech']}"),
    }
    return Result(record, asked.talk)


def _log_question(intent: str, turn: Turn, state: dict[str, Any], steps: Sequence[Step]) -> Result:
    feed = feed_called(turn.night, state["feed"])
    rows = offer_lines(entries(turn.night, state, steps, feed), turn.night)
    return yes_or_no(intent, turn, "log", {"rows": rows, "done": qty(len(state["ticks"]), "1")}, state)


def after_the_end(intent: str, turn: Turn, state: dict[str, Any], steps: Sequence[Step], said: str) -> Result:
    """The guide is through; what is open is only whether to write it down. Written after a yes, never before."""
    if said not in ("yes", "no"):
        return _log_question(intent, turn, state, steps)
    if said == "no":
        return close(turn, line_record(intent, turn.night, "log_not", {}, outcome="done"))
    feed = feed_called(turn.night, state["feed"])
    found = entries(turn.night, state, steps, feed)
    record = line_record(intent, turn.night, "log_done", {"rows": offer_lines(found, turn.night)}, outcome="done")
    closed = close(turn, record)
    return Result(closed.record, closed.talk, _written(state, steps, found))
