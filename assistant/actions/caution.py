"""Caution cards: the alarm of the triage station, or the card a question asked about."""

from __future__ import annotations

from dataclasses import replace

from assistant.actions import Result, Turn, TurnAction
from assistant.cards import GRAVE, card_record
from assistant.someone_else import as_told_of
from assistant.turns import pattern
from knowledge.library import table


class Caution(TurnAction):
    intents = ("caution",)

    def do(self, turn: Turn) -> Result:
        alarms = turn.alarms
        name = alarms[0].card if alarms else turn.question.card
        assert name is not None
        night = as_told_of(turn.said.heard.text, turn.night)
        record = card_record(name, night, level=alarms[0].level if alarms else None)
        for other in alarms[1:]:
            also = card_record(other.card, night, level=other.level)
            record["text"] += "\n\n" + table("sentences_en")["card"]["also"].format(text=also["text"])
            record.setdefault("also", []).append(also)
        talk = turn.talk.remember()  # an open question stays open
        told = bool(alarms) or not pattern("question").search(turn.said.heard.text)
        if told and record["level"] in GRAVE:  # no walk-through goes on over it
            talk = replace(talk, danger={"card": name, "said": record["speech"]})
        return Result(record, talk)
