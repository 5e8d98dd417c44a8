"""Which ordered step of an increase is on now, and what comes next."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.gather._shared import feed
from assistant.night import feed_rate
from assistant.slots import Slots
from rules.outcome import CannotAnswer

EARLY = (r"(?:can|could|may|should|shall) (?:we|i|he|she|they)", "rather than", "instead of waiting", "early", "sooner",
         "ahead of", "skip", "jump")  # asks to go on before the order says so


def gather(slots: Slots) -> Mapping[str, Any]:
    plan, of = slots.night.plan, feed(slots)
    if plan is None or not plan.steps:
        raise CannotAnswer("not_taught", name="steps")
    slots.defers = slots.said.has(*EARLY)
    slots.worked_out.add("told")  # of this one question: the next one asks anew
    return {
        "steps": plan.ordered_steps,
        "now": slots.night.now,
        "rate": feed_rate(of) if of else None,
        "told": slots.get("told"),  # "and after that one?": only then it is handed on
    }
