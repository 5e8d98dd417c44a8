"""Caution cards: the alarm of the triage station, or the card a question asked about."""

from __future__ import annotations

from dataclasses import replace

from assistant.actions import Result, Turn, TurnAction
from assistant.cards import GRAVE, card_record
from assistant.danger.only_asked import how_it_is_done
from assistant.danger.someone_else import as_told_of
from assistant.danger.told_calmly import mark_in_place
from assistant.follow.turns import pattern
from assistant.triage import OF_THE_MARK
from assistant.understand import danger
from knowledge.library import table

SURE = 0.9  # the summed share of danger from which a card that only the weights hear is shown without a doubt


def _asked_about(turn: Turn) -> str:
    """The card of the question. A mark that is where the plan has it has not moved: how to check the tube."""
    name = turn.question.card
    assert name is not None
    in_place = name in OF_THE_MARK and mark_in_place(turn.said.heard.text, turn.night)
    return "placement_check" if in_place else name


class Caution(TurnAction):
    intents = ("caution",)

    def do(self, turn: Turn) -> Result:
        alarms = turn.alarms
        name = alarms[0].card if alarms else _asked_about(turn)
        night = as_told_of(turn.said.heard.text, turn.night)
        asked = not alarms and how_it_is_done(name, turn.said.heard.text)
        record = card_record(name, night, level=alarms[0].level if alarms else None, usual=asked)
        for other in alarms[1:]:
            also = card_record(other.card, night, level=other.level)
            record["text"] += "\n\n" + table("sentences_en")["card"]["also"].format(text=also["text"])
            record.setdefault("also", []).append(also)
        unsure = bool(alarms) and not alarms[0].certain and danger(turn.said.heard.text) < SURE
        if unsure:  # after the act: what only the weights hear may be nothing
            first, _, rest = record["text"].partition("\n")
            record["text"] = "\n".join((first, table("sentences_en")["card"]["unsure"], rest))
        talk = turn.talk.remember()  # an open question stays open
        told = bool(alarms) or not pattern("question").search(turn.said.heard.text)
        if told and record["level"] in GRAVE:  # no walk-through goes on over it
            heard = {"card": name, "said": record["speech"], "at": night.now.isoformat()}
            talk = replace(talk, danger={**heard, "unsure": "yes"} if unsure else heard)
            if talk.asks in ("sure", "which_question"):  # a yes from here on answers the danger
                talk = replace(talk, asks=None, code=None)
        return Result(record, talk)
