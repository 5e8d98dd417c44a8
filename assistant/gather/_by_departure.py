"""By when it must be in, where only the hour of leaving is told ("transport is at six, what rate would it need?")."""

from __future__ import annotations

from assistant.numbers.number_pairs import beside
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Used
from assistant.slots import Slots

PLAINLY = 0.9


def by_the_departure(slots: Slots) -> None:
    """The one hour at which somebody leaves or is fetched is the end, where no other time is told."""
    if any(slots.has(name) for name in ("over", "finish", "start")):
        return
    events = [s for s in slots.said.spoken if s.roles.get("event", 0.0) > PLAINLY and s.reading("clock")]
    leaving = [s for s in events if _leaves(s)]
    if len(leaving) == 1:
        slots.spoken["finish"] = leaving[0]
        slots.used["finish"] = Used(leaving[0].reading("clock"), "question", leaving[0].amount.text)


def _leaves(spoken: Spoken) -> bool:
    return bool(beside("departs").search(f"{spoken.before} {spoken.after}"))
