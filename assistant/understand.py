"""Station 5: which question is this? Every label of the assistant, ranked, with a probability.

A label is an intent, or `caution` with its card. The ranking comes from a frozen table of weights over words, letters
within words, concepts and patterns; it holds no rule of danger (see triage) and reads no amounts (see hear).
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import NamedTuple

import numpy as np

from assistant.language.features import features_of, take_apart
from assistant.language.spelling import familiar
from assistant.language.weights import Array, table
from knowledge.library import load

FAINTEST = 0.0005       # labels of a smaller share are left out, but for the first three
DANGER_LEVELS = ("emergency", "urgent")
#: summed probability of the danger cards from which a message counts as dangerous; 3 % of calm hold-out lines reach it
DANGER_FROM = 0.27


class Candidate(NamedTuple):
    """One thing the message may ask. `p` is the share of such messages for which this is right, 0 to 1."""

    intent: str
    card: str | None
    p: float


@lru_cache(maxsize=512)
def _shares(text: str) -> Array | None:
    """The probability of every label, in the table's order; None when the text holds no word."""
    parts = take_apart(text)
    if not parts.said:
        return None
    known = table()
    return known.probabilities(known.scores(parts))


@cache
def _named() -> tuple[tuple[str, str | None], ...]:
    parted = (label.partition(":") for label in table().labels)
    return tuple((intent, card or None) for intent, _, card in parted)


@cache
def _grave() -> Array:
    """Which labels are cards of the levels emergency and urgent."""
    levels = {name: card["level"] for name, card in load("cautions").items()}
    return np.array([card is not None and levels.get(card) in DANGER_LEVELS for _, card in _named()])


@lru_cache(maxsize=256)  # the danger station, the parts and the question all look at the same words
def rank(text: str) -> tuple[Candidate, ...]:
    """The labels that `text` (plain words) may have, likeliest first; empty when it holds no word."""
    shares = _shares(text)
    if shares is None:
        return ()
    order = (-shares).argsort(kind="stable").tolist()
    values, named = shares.tolist(), _named()
    kept = max(3, sum(value >= FAINTEST for value in values))
    return tuple(Candidate(named[at][0], named[at][1], values[at]) for at in order[:kept])


def danger(text: str) -> float:
    """Summed probability of the emergency and urgent cards, 0 to 1."""
    shares = _shares(text)
    return 0.0 if shares is None else float(shares[_grave()].sum())


ELSEWHERE = ("elsewhere_", "foods_solid", "things_alike", "things_about", "creature")
LETTERS = 3             # shorter words are at home everywhere


def elsewhere(text: str) -> bool:
    """Is a word strange to talk of feeding, or a concept of something else, among the words?"""
    parts = take_apart(text)
    strange = any(len(w) >= LETTERS and w[0].isalpha() and w not in familiar() for w in parts.mended)
    return strange or any(name.startswith(ELSEWHERE) for name, _, _ in parts.hits)


_JOIN = re.compile(
    r"(?<=[a-z0-9)])[.?!;]+\s+|\s*\n\s*|,?\s+(?:and then|and also|also|and|n|then|but|plus|oh and)\s+"
    r"(?=(?:what|wat|whats|when|wen|whens|how|hw|where|who|why|is|are|do|does|did|can|should|could|will|would|tell|remind"
    r"|log|set|note|show|give me|work out)\b)",
    re.IGNORECASE,
)
_SHORTEST_CLAUSE = 2


def clauses(text: str) -> tuple[str, ...]:
    """`text` parted where one ask ends and another begins; one clause when nothing parts it."""
    parts = tuple(part.strip(" ,") for part in _JOIN.split(text))
    return tuple(part for part in parts if len(part) >= _SHORTEST_CLAUSE) or ((text,) if text else ())


def explain(text: str, candidates: int = 4, reasons: int = 8) -> str:
    """Tokens, mended spellings, concepts, and for each likely label what speaks for and against it."""
    parts = take_apart(text)
    said, mended, _, hits = parts
    lines = [f"  words      {' '.join(said)}"]
    lines += [f"  mended     {a} -> {b}" for a, b in zip(said, mended, strict=True) if a != b]
    lines += [f"  concept    {name}: {' '.join(mended[start:end])}" for name, start, end in hits]
    known = table()
    rows, amounts = known.rows(parts)
    heard = sorted(set().union(*features_of(parts).values()))
    names = {row: name for name in heard for row in known.names.known((name,))}
    for one in rank(text)[:candidates]:
        label = f"{one.intent}:{one.card}" if one.card else one.intent
        pulls = amounts * known.weights[rows, known.labels.index(label)] * known.step
        chief = sorted(zip(pulls.tolist(), rows.tolist(), strict=True), key=lambda pair: (-abs(pair[0]), pair[1]))
        speaks = ", ".join(f"{names[row]} {part:+.2f}" for part, row in chief[:reasons])
        lines.append(f"  {one.p:.2f}  {label}: {speaks}")
    return "\n".join(lines)
