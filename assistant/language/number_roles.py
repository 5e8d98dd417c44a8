"""The second ear for numbers: what a number is likely about (a rate, a start, what is left ...), by frozen weights.

The first are the words of knowledge/roles_en.toml. The weights (knowledge/weights/number_roles.tsv.gz: one feature a
line, readable) were fitted apart, on messages put together from what many writers tell of a feed
(tests/benchmarks/peers/fit_number_roles.py). Nothing is learned here; the same words give the same shares.
"""

from __future__ import annotations

import gzip
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache, lru_cache
from importlib import resources

import numpy as np

from assistant.language.concepts import find
from assistant.language.features import concept_tree, stem
from assistant.language.names import Names
from assistant.language.spelling import familiar
from assistant.message import Amount, Heard

TABLE = "number_roles.tsv.gz"
REACH = 7  # words on each side
BOUNDS = frozenset({".", "?", "!", ";", ":", ",", "-", "–", "and", "but", "(", ")", "\n", "how", "what", "when"})
ENDS = BOUNDS - {"how", "what", "when"}  # of a clause
LETTERS = 3  # shorter words are at home everywhere
SIZES = ((24, "a"), (130, "b"), (420, "c"))  # an hour or so, a rate, an amount of some hours, a whole feed


def kind_of(amount: Amount) -> str:
    """The kind of a number, and about how large it is."""
    first = amount.readings[0]
    if first.kind not in ("number", "volume", "rate"):
        return first.kind
    return first.kind + next((name for most, name in SIZES if first.value <= most), "d")


def features(heard: Heard, index: int) -> frozenset[str]:
    """What stands around one number: the words on each side in their order, alone, and within its own clause."""
    amount, kind = heard.amounts[index], kind_of(heard.amounts[index])
    left, right = _left(heard, amount), _right(heard, amount)
    found = {f"k:{kind}", f"u:{amount.readings[0].kind} {amount.readings[0].unit}", f"ba:{left[0]}_{right[0]}"}
    for side, words in (("b", left), ("a", right)):
        for length in (1, 2, 3, 4):
            found.add(f"{side}{length}:{' '.join(words[:length])}")
        found |= {f"{side}{length}:{' '.join(words[:length])}|{kind[:4]}" for length in (1, 2)}
        inside = True
        for at, word in enumerate(words):
            if word in BOUNDS or (word.startswith("#") and at):
                inside = False
            found.add(f"{side}{'c' if inside else 'f'}:{word}")
            if inside:
                found.add(f"{side}s:{word[:5]}")
                found |= {f"{side}p:{word} {after}" for after in words[at + 1 : at + 2]}
    return frozenset(found | _of_the_clause(heard, amount, kind))


def _of_the_clause(heard: Heard, amount: Amount, kind: str) -> set[str]:
    """What the clause around a number speaks of (concepts), and how many of its words are strangers to feeding."""
    first, last = amount.start, amount.end
    while first > 0 and heard.tokens[first - 1] not in ENDS:
        first -= 1
    while last < len(heard.tokens) and heard.tokens[last] not in ENDS:
        last += 1
    words = [token for token in heard.tokens[first:last] if token[0].isalpha()]
    strange = sum(len(word) >= LETTERS and word.removesuffix("'s") not in familiar() for word in words)
    hits = find([stem(word.replace("'", "")) for word in words], concept_tree())
    few = min(strange, 3)
    return {f"k:{name}" for name, _, _ in hits} | {f"x:{few}", f"x:{few}|{kind[:4]}", f"x:{few}/{min(len(words), 9)}"}


def _left(heard: Heard, amount: Amount) -> list[str]:
    """The words before it, the nearest first; another number as its kind; "^" where the message begins."""
    ends = {other.end: other for other in heard.amounts}
    words: list[str] = []
    at = amount.start
    while at > 0 and len(words) < REACH:
        other = ends.get(at)
        words.append(heard.tokens[at - 1] if other is None else f"#{kind_of(other)}")
        at = at - 1 if other is None else other.start
    return words if len(words) == REACH else [*words, "^"]


def _right(heard: Heard, amount: Amount) -> list[str]:
    """The words after it; another number as its kind; "$" where the message ends."""
    starts = {other.start: other for other in heard.amounts}
    words: list[str] = []
    at = amount.end
    while at < len(heard.tokens) and len(words) < REACH:
        other = starts.get(at)
        words.append(heard.tokens[at] if other is None else f"#{kind_of(other)}")
        at = at + 1 if other is None else other.end
    return words if len(words) == REACH else [*words, "$"]


@dataclass(frozen=True)
class Weights:
    """Rows are features, columns are roles; whole hundredths, so that sums are the same in every run."""

    roles: tuple[str, ...]
    bias: tuple[float, ...]
    names: Names
    table: np.ndarray

    def shares(self, found: frozenset[str]) -> dict[str, float]:
        """How likely each role is; together 1."""
        summed = self.table[self.names.known(found)].sum(axis=0, dtype=np.int64).tolist()
        scores = [bias + weight / 100 for bias, weight in zip(self.bias, summed, strict=True)]
        raised = [math.exp(score - max(scores)) for score in scores]
        return {role: share / sum(raised) for role, share in zip(self.roles, raised, strict=True)}


def _filled(lines: Iterator[str], table: np.ndarray) -> Iterator[str]:
    """The names of the features, while their weights are read into the table."""
    for row, line in enumerate(lines):
        feature, *pairs = line.rstrip("\n").split("\t")
        for at, _, weight in (pair.partition(":") for pair in pairs):
            table[row, int(at)] = int(weight)
        yield feature


@cache
def weights() -> Weights:
    """The table of knowledge/weights, read once."""
    packed = resources.files("knowledge").joinpath("weights", TABLE)
    with packed.open("rb") as file, gzip.open(file, "rt", encoding="utf-8") as lines:
        roles, bias, (_, count) = (next(lines).rstrip("\n").split("\t") for _ in range(3))
        table = np.zeros((int(count), len(roles) - 1), np.int16)
        names = Names(_filled(lines, table))
    return Weights(tuple(roles[1:]), tuple(float(one) for one in bias[1:]), names, table)


@lru_cache(maxsize=64)
def shares_of(heard: Heard) -> tuple[Mapping[str, float], ...]:
    """For each number of the message how likely each role is."""
    table = weights()
    return tuple(table.shares(features(heard, index)) for index in range(len(heard.amounts)))


def likely_roles(heard: Heard) -> tuple[tuple[str, float], ...]:
    """For each number of the message its likeliest role, and how likely it is."""
    return tuple(max(shares.items(), key=lambda pair: pair[1]) for shares in shares_of(heard))
