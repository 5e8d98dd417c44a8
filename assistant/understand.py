"""Station 5: which question is this? Every label of the assistant, ranked, with a probability.

A label is an intent, or `caution` with its card. The ranking comes from a frozen table of weights over words, letters
within words and concepts; it holds no rule of danger (see triage) and reads no amounts (see hear).
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from assistant.language.features import letter_features, tokens, word_features
from assistant.language.weights import table


@dataclass(frozen=True)
class Candidate:
    """One thing the message may ask. `p` is the share of such messages for which this is right, 0 to 1."""

    intent: str
    card: str | None
    p: float


def _candidate(label: str, p: float) -> Candidate:
    intent, _, card = label.partition(":")
    return Candidate(intent, card or None, p)


def _groups(text: str) -> dict[str, list[str]]:
    words = tokens(text)
    return {"word": word_features(words), "letter": letter_features(words)}


def rank(text: str) -> tuple[Candidate, ...]:
    """All labels for `text` (plain words), likeliest first; empty when it holds no word."""
    groups = _groups(text)
    if not groups["word"]:
        return ()
    known = table()
    shares = known.probabilities(known.scores(groups))
    order = (-shares).argsort(kind="stable")
    return tuple(_candidate(known.labels[at], float(shares[at])) for at in order)


_JOIN = re.compile(
    r"(?<=[a-z0-9)])[.?!;]+\s+|\s*\n\s*|,?\s+(?:and then|and also|also|and|then|but|plus|oh and)\s+"
    r"(?=(?:what|when|how|where|who|why|is|are|do|does|can|should|could|will|would|tell|remind|log|set|note|show)\b)",
    re.IGNORECASE,
)


def clauses(text: str) -> tuple[str, ...]:
    """`text` parted where one ask ends and another begins; one clause when nothing parts it."""
    parts = tuple(part.strip(" ,") for part in _JOIN.split(text))
    return tuple(part for part in parts if len(part) > 1) or ((text,) if text else ())


DANGER_LEVELS = ("emergency", "urgent")


def danger(text: str) -> float:
    """Summed probability of the emergency and urgent cards, 0 to 1."""
    from knowledge.library import load

    grave = {name for name, card in load("cautions").items() if card["level"] in DANGER_LEVELS}
    return sum(c.p for c in rank(text) if c.card in grave)


def explain(text: str) -> str:
    """Interim: the likeliest labels."""
    return "\n".join(f"  {c.p:.2f} {c.intent} {c.card or ''}" for c in rank(text)[:5])
