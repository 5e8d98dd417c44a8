"""The danger rules as they stand in knowledge/signs: which signs, close together, call for which card."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from knowledge.library import load

LONGEST = 10_000  # words of a sentence, where a rule does not bound them (`short`)
CLOSE = 9  # words within which the signs of one rule stand, where it does not say otherwise
NOT_NOW = ("resolved", "past", "asking", "animal", "story")


@dataclass(frozen=True, slots=True)
class Rule:
    """`near`: signs close together. `with_`: signs anywhere. `unless`: not when one of these stands in the sentence.

    `explained`: a harmless cause, said in the same sentence or the next; it rules the card out.

    `hint`: said so loosely that it counts only with a trace of danger in the weights. `calm`: rules the card out, with
    `hint` only where the weights are not nearly certain. `doubt`: a worry that names no sign, to be asked about.
    """

    card: str
    near: tuple[str, ...]
    with_: frozenset[str]
    unless: tuple[str, ...]
    explained: tuple[str, ...]
    within: int
    ordered: bool
    frames: tuple[str, ...]
    need: frozenset[str]
    short: int
    hint: bool
    calm: bool
    doubt: bool


@cache
def rules() -> tuple[Rule, ...]:
    """Every rule, one for each of its `any`."""
    made = []
    for file in load("signs").values():
        for entry in file.get("rule", ()):
            near, with_ = tuple(entry.get("near", ())), frozenset(entry.get("with", ()))
            frames = tuple(f for f in NOT_NOW if f not in entry.get("whenever", ()) and not entry.get("calm"))
            for first in entry.get("any", ("",)):
                all_near = (first, *near) if first else near
                made.append(
                    Rule(
                        card=entry["card"],
                        near=all_near,
                        with_=with_,
                        unless=tuple(entry.get("unless", ())),
                        explained=tuple(entry.get("explained", ())),
                        within=entry.get("within", CLOSE),
                        ordered=entry.get("ordered", False),
                        frames=frames,
                        need=frozenset(all_near) | with_,
                        short=entry.get("short", LONGEST),
                        hint=entry.get("hint", False),
                        calm=entry.get("calm", False),
                        doubt=entry.get("doubt", False),
                    )
                )
    return tuple(made)


@cache
def number_classes() -> dict[str, tuple[Decimal, Decimal, bool]]:
    """The ranges of numbers that are signs: from, to, and whether only a number with a point counts."""
    found = {}
    for file in load("signs").values():
        for name, entry in file.items():
            if name != "rule" and hasattr(entry, "get") and "from" in entry:
                found[name] = (Decimal(entry["from"]), Decimal(entry["to"]), bool(entry.get("decimal", False)))
    return found
