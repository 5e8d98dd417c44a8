"""For the next carer or the nurse: what ran, what is left, what is due, from the log alone."""

from __future__ import annotations

from typing import Any

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.night import Night
from knowledge.library import table


class Handoff(TurnAction):
    """For the next carer or the nurse: what ran, what is left, what is due, from the log alone."""

    intents = ("handoff",)

    def do(self, turn: Turn) -> Result:
        night, lines, state = turn.night, table("sentences_en")["log"], turn.night.state
        if state is None or state.started is None:
            text = word.Facts(night, {}).text(lines["handoff_empty"])
            return Result(
                word.record(
                    intent="handoff", outcome="answered", text=text, speech=text, night=night, sources=("feed-log",)
                ),
                turn.talk,
            )
        facts = word.Facts(
            night,
            {
                "started": state.started,
                "feed": state.feed,
                "given": total_given(night) or state.given,
                "left": state.left,
                "rate": state.rate,
                "ends": state.ends_at if state.running else None,
                "stopped": state.stopped_at,
                "paused": state.paused_total if state.paused_total.magnitude else None,
                "flush": state.last_flush,
                "sick": str(state.vomited) if state.vomited else None,
                "paused_since": state.paused_since,
            },
        )
        rows = [facts.text(entry["text"]) for entry in lines["handoff"] if facts.has(entry["has"])]
        record = word.record(
            intent="handoff",
            outcome="answered",
            text="\n".join(rows),
            speech=word.limit(" ".join(facts.speech(e["text"]) for e in lines["handoff"] if facts.has(e["has"]))),
            night=night,
            sources=("feed-log",),
        )
        return Result(record, turn.talk.remember(answer=record))


def total_given(night: Night) -> Any:
    """What all of today's feeds gave by the log, where each is known."""
    from assistant.day_log import day_total

    return day_total(night)
