"""Station 3: danger is heard first, on plain words, before numbers are read and whatever else was asked."""

from __future__ import annotations

from dataclasses import dataclass

from assistant.cards import level_of
from assistant.night import Night
from assistant.understand import rank

try:
    from assistant.understand import danger
except ImportError:
    def danger(text: str) -> float:
        return sum(c.p for c in rank(text)[:3] if c.card)

LEVELS = ("none", "routine", "same_day", "urgent", "emergency")
SUSPECTED = 0.5         # summed probability of the danger cards from which the second ear raises an alarm


@dataclass(frozen=True)
class Alarm:
    """A card that the words call for."""

    card: str
    level: str
    certain: bool               # named by a rule; else only suspected by the weights


def triage(text: str, night: Night) -> tuple[Alarm, ...]:
    """The danger cards the words call for, worst first. Empty for everyday words."""
    if danger(text) < SUSPECTED:
        return ()
    found = [Alarm(c.card, level_of(c.card, night), False) for c in rank(text)[:3] if c.card]
    alarms = [a for a in found if a.level in ("urgent", "emergency")]
    return tuple(alarms[:1])
