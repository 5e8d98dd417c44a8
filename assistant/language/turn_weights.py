"""The frozen weights of the ear that hears a turn in its place: which feature speaks for which question, how strongly.

knowledge/weights/turns.tsv.gz holds them as text, one feature a line. Fitted apart
(tests/benchmarks/peers/fit_turns.py); nothing is learned here.
"""

from __future__ import annotations

import gzip
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np

TABLE = "turns.tsv.gz"


@dataclass(frozen=True)
class Turns:
    """A row a feature, a column a label; weights in steps of `step`."""

    labels: tuple[str, ...]
    row_of: Mapping[str, int]
    weights: np.ndarray
    bias: np.ndarray
    step: float

    def shares(self, features: Mapping[str, float]) -> dict[str, float]:
        """The probability of each label, likeliest first."""
        known = [(self.row_of[name], amount) for name, amount in sorted(features.items()) if name in self.row_of]
        scores = self.bias.copy()
        if known:
            rows, amounts = zip(*known, strict=True)
            strengths = np.array(amounts, np.float32) * np.float32(self.step)
            scores += strengths @ self.weights[list(rows)].astype(np.float32)
        raised = np.exp(scores - scores.max())
        whole = (raised / raised.sum()).tolist()
        order = sorted(range(len(self.labels)), key=lambda at: -whole[at])
        return {self.labels[at]: whole[at] for at in order}


@cache
def turns() -> Turns:
    """The table as it stands in knowledge/weights."""
    packed = resources.files("knowledge").joinpath("weights", TABLE).read_bytes()
    return read_turns(gzip.decompress(packed).decode("utf-8").splitlines())


def read_turns(lines: list[str]) -> Turns:
    """The table from its lines: "step", "label" with its bias, then a line a feature."""
    step, labels, bias, names, pairs = 1.0, [], [], [], []
    for line in lines:
        parts = line.split("\t")
        if parts[0] == "step":
            step = float(parts[1])
        elif parts[0] == "label":
            labels.append(parts[1])
            bias.append(float(parts[2]))
        elif not line.startswith("#") and len(parts) == 2:
            names.append(parts[0])
            pairs.append(parts[1])
    weights = np.zeros((len(names), len(labels)), np.int8)
    for row, told in enumerate(pairs):
        for pair in told.split():
            at, _, weight = pair.partition(":")
            weights[row, int(at)] = int(weight)
    row_of = {name: at for at, name in enumerate(names)}
    return Turns(tuple(labels), row_of, weights, np.array(bias, np.float32), step)
