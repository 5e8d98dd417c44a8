"""For the next carer or the nurse: what ran, what is left, what is due, what was odd; every number with its origin."""

from __future__ import annotations

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.follow.turns import pattern
from assistant.night import Night
from assistant.paper.handover import Line, next_carer, nurse_line
from knowledge.library import table
from rules.outcome import Figure


class Handoff(TurnAction):
    """The handover as a turn of the conversation; "for the nurse" gives the nurse line's order."""

    intents = ("handoff",)

    def do(self, turn: Turn) -> Result:
        night, titles = turn.night, table("handover_en")["titles"]
        for_nurse = bool(pattern("for_the_nurse").search(turn.said.heard.text))
        lines = nurse_line(night, asked=None) if for_nurse else next_carer(night)
        if not lines:
            return Result(word.of_the_log("handoff", "answered", titles["empty"], night), turn.talk)
        said = [line.speech(night) for line in lines if line.section in ("ran", "left", "due", "odd", "assessment")]
        record = word.record(
            intent="handoff",
            outcome="answered",
            text=in_words(lines, night, for_nurse),
            speech=word.limit(f"{said[0]} {titles['speech_more']}" if said else titles["speech_more"]),
            figures=_figures(night),
            sources=("feed-log", "care-plan") if night.plan else ("feed-log",),
        )
        return Result(record, turn.talk.remember(answer=record))


def in_words(lines: tuple[Line, ...], night: Night, for_nurse: bool) -> str:
    """The handover as text, section by section, each line with its origin."""
    titles = table("handover_en")["titles"]
    facts = word.Facts(night, {"now": night.now})
    made = [facts.text(titles["nurse_line" if for_nurse else "next_carer"])]
    section = ""
    for line in lines:
        if line.section != section:
            section = line.section
            made.append(f"{titles[section]}:")
        made.append("  " + titles["origin"].format(text=line.text(night), origin=line.origin))
    if for_nurse:
        made.append(facts.text(titles["pick_up"]))
    elif not any(line.section == "odd" for line in lines):
        made.append(titles["nothing_odd"])
    return "\n".join(made)


def _figures(night: Night) -> dict[str, Figure]:
    state = night.state
    if state is None or state.started is None:
        return {}
    found = {"delivered": state.given, "remaining": state.left, "finish_at": state.ends_at if state.running else None}
    return {name: Figure(value) for name, value in found.items() if value is not None}
