"""How strongly the words beside a number speak for each role. The words are data: knowledge/roles_en.toml."""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

from assistant.message import Amount
from knowledge.library import table


@cache
def _phrase(pattern: str) -> re.Pattern[str]:
    """A cue as a pattern anchored towards the number: the nearer the cue, the earlier it matches."""
    body = r"\s".join(re.escape(w).replace(r"\*", r"[\w']*") for w in pattern.split())
    return re.compile(rf"(?:^|\s){body}(?=\s|$)")


class Cue(NamedTuple):
    """Words that speak for a role (weight 1) or against it (-1)."""

    role: str
    weight: float
    pattern: re.Pattern[str]


@cache
def _cues(side: str) -> dict[str, list[Cue]]:
    """The cues that count on one side of a number, by their longest word: it is looked for first and costs little."""
    found: dict[str, list[Cue]] = {}
    for role, cues in table("roles_en").items():
        for written in cues.get(side, ()):
            words = written.lstrip("!")
            longest = max(words.replace("*", " ").split(), key=len)
            found.setdefault(longest, []).append(Cue(role, -1.0 if written.startswith("!") else 1.0, _phrase(words)))
    return found


@cache
def _kinds(role: str) -> frozenset[str]:
    return frozenset(table("roles_en")[role]["kinds"])


def _strengths(words: str, side: str) -> dict[str, float]:
    """How strongly the words speak for each role they name: the nearer a cue, the more (1 beside the number)."""
    best: dict[str, float] = {}
    worst: dict[str, float] = {}
    for longest, cues in _cues(side).items():
        if longest not in words:
            continue
        for role, weight, pattern in cues:
            side_of = best if weight > 0 else worst
            for found in pattern.finditer(words):
                gap = len((words[found.end() :] if side == "before" else words[: found.start()]).split())
                length = len(found.group().split())
                near = (1.0 + 0.25 * (length - 1)) / (1.0 + 0.45 * gap)
                side_of[role] = max(side_of.get(role, 0.0), near)
    return {role: best.get(role, 0.0) - 1.2 * worst.get(role, 0.0) for role in best.keys() | worst.keys()}


def roles_of(amount: Amount, before: str, after: str) -> dict[str, float]:
    kinds = kinds_of(amount)
    left, right = _strengths(before, "before"), _strengths(after, "after")
    return {
        role: left.get(role, 0.0) + right.get(role, 0.0) for role in table("roles_en") if kinds & _kinds(role)
    }


def kinds_of(amount: Amount) -> set[str]:
    return {r.kind for r in amount.readings}
