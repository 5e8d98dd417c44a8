"""What a calculator gives back, and how it refuses.

A calculator returns an Outcome or raises CannotAnswer: never both, never None.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from rules.quantity import Quantity

#: why a calculator may refuse; each is worded in knowledge/refusals_en.toml
REFUSALS = frozenset({
    "beyond_possible",      # an amount outside what can be true (facts: name, found, low, high)
    "missing",              # a value that the sum needs (facts: name)
    "no_figure",            # no published figure covers this (facts: name)
    "rate_unchanged",       # nothing to change
    "no_such_time",         # a clock time the zone skips (facts: found)
    "before_start",         # a time before the feed began (facts: found, start)
    "not_taught",           # the plan has no such thing (facts: name)
})


class CannotAnswer(Exception):
    """A calculator's refusal: a code of REFUSALS and the facts to word it with."""

    def __init__(self, code: str, **facts: Any) -> None:
        assert code in REFUSALS, code
        super().__init__(code)
        self.code = code
        self.facts = facts


@dataclass(frozen=True)
class Figure:
    """One named result, unrounded. `low` and `high` come from the pump's accuracy where the plan gives it."""

    value: Quantity | datetime | date | bool | str
    low: Quantity | datetime | None = None
    high: Quantity | datetime | None = None


@dataclass(frozen=True)
class Outcome:
    figures: Mapping[str, Figure]
    working: tuple[tuple[str, Any], ...]            # every step in order: name, value with its unit
    sources: tuple[str, ...]                        # ids of knowledge/sources.toml; "arithmetic" for definitions
    remarks: tuple[str, ...] = ()                   # codes worded in knowledge/questions/en/<name>.toml [remarks]
    defers: bool = False                            # the decision belongs to the care team
    facts: Mapping[str, Any] = field(default_factory=dict)   # further values that the wording may name


def need(**values: Any) -> None:
    """Refuse with `missing` for the first value that is None: nothing is filled in."""
    for name, value in values.items():
        if value is None:
            raise CannotAnswer("missing", name=name)
