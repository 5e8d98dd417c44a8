"""The frozen table of weights: which feature speaks for which question, and how strongly.

knowledge/weights/ holds it as text (compressed by gzip), one feature a line, so that a person can look up why a
message was taken for a question. It was fitted apart (tests/benchmarks/peers/fit_language.py); nothing is learned here.
"""

from __future__ import annotations

import gzip
import warnings
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from itertools import chain, islice

import numpy as np

from assistant.language.features import Parts, letters, spoken_features
from assistant.language.names import NOWHERE, Names

Array = np.ndarray

TABLE = "language.tsv.gz"
_SLICE = 128
_WORDS_KEPT = 5000
_LINES_AT_ONCE = 4000


@dataclass(frozen=True)
class Table:
    """Rows are features, columns are labels. A row counts more, the rarer its feature is (`rarity`)."""

    labels: tuple[str, ...]
    names: Names
    weights: Array                      # int8, in steps of `step`
    step: float
    rarity: Array                       # float32, one a row
    bias: Array                         # float32, one a label
    group_weight: Mapping[str, float]   # how much words, letters, concepts, patterns count as a whole
    sharpness: float                    # scores times this, through softmax, are the probabilities
    rows_of_word: dict[str, tuple[int, ...]] = field(default_factory=dict)      # kept, for speed only

    def _letter_rows(self, word: str) -> tuple[int, ...]:
        kept = self.rows_of_word.get(word)
        if kept is None:
            if len(self.rows_of_word) > _WORDS_KEPT:
                self.rows_of_word.clear()
            kept = tuple(sorted(self.names.known(letters(word))))
            self.rows_of_word[word] = kept
        return kept

    def rows(self, parts: Parts) -> tuple[Array, Array]:
        """The known features of a message and the amount of each; each group's amounts have its weight as length.

        Sets of whole numbers, filled in the order of the words, come out in the same order each time: sums repeat.
        """
        found: dict[str, Collection[int]] = {"letter": set().union(*map(self._letter_rows, parts.said))}
        spoken = spoken_features(parts)
        places = iter(self.names.places([name for names in spoken.values() for name in names]))
        for group, names in spoken.items():
            found[group] = set(islice(places, len(names))) - {NOWHERE}
        groups = [(known, self.group_weight[group]) for group, known in found.items() if known]
        if not groups:
            return np.empty(0, np.intp), np.empty(0, np.float32)
        rows = np.fromiter(chain.from_iterable(known for known, _ in groups), np.intp)
        sizes = [len(known) for known, _ in groups]
        strength = self.rarity.take(rows)
        starts = [sum(sizes[:at]) for at in range(len(sizes))]
        lengths = np.sqrt(np.add.reduceat(strength * strength, starts))
        shares = np.array([weight for _, weight in groups], np.float32) / lengths
        return rows, strength * shares.repeat(sizes)

    def scores(self, parts: Parts) -> Array:
        """One score a label; higher is likelier."""
        rows, amounts = self.rows(parts)
        total = self.bias.astype(np.float32)
        for start in range(0, len(rows), _SLICE):       # in slices that the processor's cache holds
            part = self.weights.take(rows[start:start + _SLICE], axis=0).astype(np.float32)
            total += (amounts[start:start + _SLICE] * np.float32(self.step)) @ part
        return total

    def probabilities(self, scores: Array) -> Array:
        raised = np.exp((scores - scores.max()) * self.sharpness)
        shares: Array = raised / raised.sum()
        return shares


def _settings(lines: Iterator[str]) -> tuple[dict[str, str], list[str], list[float]]:
    """Settings, labels and their bias, up to the line that opens the features."""
    settings: dict[str, str] = {}
    labels: list[str] = []
    bias: list[float] = []
    for line in lines:
        parts = line.rstrip("\n").split("\t")
        if parts[0] == "# features":
            break
        if parts[0] == "label":
            labels.append(parts[1])
            bias.append(float(parts[2]))
        elif len(parts) == 2:
            settings[parts[0]] = parts[1]
    return settings, labels, bias


def _numbers(text: str, kind: type[np.generic]) -> Array:
    """Numbers with spaces between them. numpy reads the text itself: four times as fast as from a list of words."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", DeprecationWarning)      # what is no number would only be warned of
        return np.fromstring(text, kind, sep=" ")


def _filled(lines: Iterator[str], weights: Array, rarity: Array) -> Iterator[str]:
    """The names of the features, while their weights and rarities are read into the arrays."""
    start = 0
    while block := list(islice(lines, _LINES_AT_ONCE)):     # a block at a time keeps the memory small
        names, rare, pairs = zip(*(line.split("\t") for line in block), strict=True)
        end = start + len(names)
        rarity[start:end] = _numbers(" ".join(rare), np.float32)
        numbers = _numbers("".join(pairs).replace(":", " "), np.int16)
        rows = np.repeat(np.arange(start, end), [pair.count(":") for pair in pairs])
        weights[rows, numbers[0::2]] = numbers[1::2]
        start = end
        yield from names


def read_table(lines: Iterator[str]) -> Table:
    """A table from its lines: settings, labels with their bias, then the features."""
    settings, labels, bias = _settings(lines)
    weights = np.zeros((int(settings["features"]), len(labels)), np.int8)
    rarity = np.zeros(len(weights), np.float32)
    return Table(
        labels=tuple(labels), names=Names(_filled(lines, weights, rarity)), weights=weights,
        step=float(settings["step"]), rarity=rarity, bias=np.array(bias, np.float32),
        sharpness=float(settings["sharpness"]),
        group_weight={key[6:]: float(value) for key, value in settings.items() if key.startswith("group ")},
    )


@cache
def table() -> Table:
    """The table of knowledge/weights, read once."""
    with (resources.files("knowledge").joinpath("weights", TABLE).open("rb") as packed,
          gzip.open(packed, "rt", encoding="utf-8") as lines):
        return read_table(lines)
