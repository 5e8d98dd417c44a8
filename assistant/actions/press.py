"""A limit that is pressed ("just tell me", "the nurse said it's fine") stays deferred, and is noted in the log."""

from __future__ import annotations

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from knowledge.library import table
from rules.feed_state import Event


class Press(TurnAction):
    """What the care team decides is not decided here however often it is asked; the sum that was given stands."""

    intents = ("press",)

    def do(self, turn: Turn) -> Result:
        lines, before = table("sentences_en")["talk"]["press"], turn.talk.last
        if turn.talk.answer is not None and turn.talk.answer["defers"]:
            before = turn.talk.answer
        assert before is not None  # turns.py sends nobody here without something that was said before
        facts = word.Facts(turn.night, {"before": before["text"].partition("\n")[0]})
        record = word.record(
            intent=before["intent"],
            card=before["card"],
            outcome="declined",
            text=facts.text(lines["text"]),
            speech=facts.speech(lines["speech"]),
            sources=("care-plan",) if turn.night.plan else ("bagside",),
            defers=True,
        )
        noted = Event(turn.night.now, "deferred")
        return Result(record, turn.talk, ({"write": "event", "event": noted, "said": turn.said.heard.text},))
