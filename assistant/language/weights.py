"""The frozen table of weights: which feature speaks for which question, and how strongly.

knowledge/weights/ holds it as text (compressed by gzip), one feature a line, so that a person can look up why a
message was taken for a question. It was fitted apart (tests/benchmarks/peers/fit_language.py); nothing is learned here.
"""

from __future__ import annotations

import gzip
import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np

Array = np.ndarray

TABLE = "language.tsv.gz"


@dataclass(frozen=True)
class Table:
    """Rows are features, columns are labels. A row counts more, the rarer its feature is (`rarity`)."""

    labels: tuple[str, ...]
    row_of: Mapping[str, int]
    weights: Array                      # int8, in steps of `step`
    step: float
    rarity: Array                       # float32, one a row
    bias: Array                         # float32, one a label
    group_weight: Mapping[str, float]   # how much words, letters, concepts count as a whole
    sharpness: float                    # scores times this, through softmax, are the probabilities

    def rows(self, groups: Mapping[str, Sequence[str]]) -> tuple[list[int], list[float]]:
        """The known features of a message and the amount of each; the amounts of a group have length one."""
        rows: list[int] = []
        amounts: list[float] = []
        for group, features in groups.items():
            row_of, rarity = self.row_of, self.rarity
            counted = Counter([row_of[name] for name in features if name in row_of])
            if not counted:
                continue
            found = list(counted)
            strength = rarity[found]
            strength = strength.tolist()
            got = [s if n == 1 else s * (1.0 + math.log(n)) for s, n in zip(strength, counted.values(), strict=True)]
            length = math.sqrt(sum(value * value for value in got))
            share = self.group_weight[group] / length
            rows += found
            amounts += [value * share for value in got]
        return rows, amounts

    def scores(self, groups: Mapping[str, Sequence[str]]) -> Array:
        """One score a label; higher is likelier."""
        rows, amounts = self.rows(groups)
        if not rows:
            return self.bias
        heap = np.array(amounts, np.float32) @ self.weights[rows].astype(np.float32)
        scores: Array = heap * np.float32(self.step) + self.bias
        return scores

    def probabilities(self, scores: Array) -> Array:
        raised = np.exp((scores - scores.max()) * self.sharpness)
        shares: Array = raised / raised.sum()
        return shares


def read_table(text: str) -> Table:
    """A table from its text: settings, labels with their bias, then the features."""
    head, _, body = text.partition("\n# features\n")
    settings: dict[str, str] = {}
    labels: list[str] = []
    bias: list[float] = []
    for line in head.splitlines():
        parts = line.split("\t")
        if parts[0] == "label":
            labels.append(parts[1])
            bias.append(float(parts[2]))
        elif len(parts) == 2:
            settings[parts[0]] = parts[1]
    names, rarities, lists = [], [], []
    for line in body.splitlines():
        name, rarity, weights = line.split("\t")
        names.append(name)
        rarities.append(rarity)
        lists.append(weights)
    numbers = np.array(" ".join(lists).replace(":", " ").split(), dtype=np.int16)
    per_row = np.fromiter((entry.count(":") for entry in lists), dtype=np.int64, count=len(lists))
    weights_ = np.zeros((len(names), len(labels)), np.int8)
    weights_[np.repeat(np.arange(len(names)), per_row), numbers[0::2]] = numbers[1::2].astype(np.int8)
    return Table(
        labels=tuple(labels), row_of={name: row for row, name in enumerate(names)}, weights=weights_,
        step=float(settings["step"]), rarity=np.array(rarities, dtype=np.float32),
        bias=np.array(bias, np.float32), sharpness=float(settings["sharpness"]),
        group_weight={key[6:]: float(value) for key, value in settings.items() if key.startswith("group ")},
    )


@cache
def table() -> Table:
    """The table of knowledge/weights, read once."""
    packed = resources.files("knowledge").joinpath("weights", TABLE).read_bytes()
    return read_table(gzip.decompress(packed).decode("utf-8"))
