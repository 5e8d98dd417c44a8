"""How long formula keeps or hangs, asked in general: "how long does an opened carton keep?" needs no time to answer.

The limit is told with its source, and the time from which it counts is asked for, so that it can be worked out.
"""

from __future__ import annotations

from typing import Any

from assistant import word
from assistant.follow.turns import pattern
from assistant.gather.discard_at import hanging_limit
from assistant.gather.opened_until import ROOM
from assistant.numbers.wants import Ask
from assistant.slots import Slots
from knowledge.library import table
from rules.figures import opened_container
from rules.outcome import CannotAnswer

OF_A_LIMIT = ("discard_at", "opened_until")


def told_in_general(name: str, ask: Ask, slots: Slots) -> dict[str, Any] | None:
    """The limit, where only the time of opening is missing and how long it keeps is asked in general."""
    text = slots.said.lower
    if name not in OF_A_LIMIT or ask.asks != "opened" or ask.code != "opened":
        return None
    if any(spoken.reading("clock", "time") for spoken in slots.said.spoken):
        return None
    if not pattern("how_long_it_keeps").search(text) or pattern("this_very_one").search(text):
        return None
    cold = name == "opened_until" and not (slots.said.has(*ROOM) and not slots.said.has("in the fridge"))
    if cold:
        figure = opened_container(slots.night.today)
        slots.fill("limit", figure.value, "standard")
        sources: tuple[str, ...] = (figure.source,)
    else:
        try:
            _, sources = hanging_limit(slots)
        except (Ask, CannotAnswer):
            return None  # without a plan the kind of formula is not known
    wording = table("sentences_en")["in_general"]["kept_cold" if cold else "hangs"]
    sources = tuple(source for source in sources if source != "arithmetic")
    record = word.told(name, "answered", wording, slots.night, {"limit": slots.used["limit"].value}, used=slots.used,
                       sources=sources)
    return {**record, "text": f"{record['text']}\n{word.source_line(sources)}"}
