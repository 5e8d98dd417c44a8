"""Fit the table of weights (knowledge/weights/language.tsv.gz) from knowledge/phrases. Development only: scikit-learn.

    python tests/benchmarks/peers/fit_vocabulary.py          first, when phrases were added: the words to mend towards
    python tests/benchmarks/peers/fit_language.py            fit on all writers and write the table
A changed concept, spelling or feature needs a new fit: table and features belong together.
Needs the `dev` extra. The program itself reads the table and learns nothing. Judge a change by by_writer.py first.
"""

from __future__ import annotations

import gzip
import json
import math
import sys
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.sparse import csr_matrix
from sklearn.svm import LinearSVC

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))

from assistant.hear.plain import plain  # noqa: E402
from assistant.language.features import features  # noqa: E402

PHRASES = ROOT / "knowledge" / "phrases"
TABLE = ROOT / "knowledge" / "weights" / "language.tsv.gz"
GROUP_WEIGHT = {"word": 1.0, "letter": 1.0, "concept": 1.0, "pattern": 1.0, "strange": 0.5}
LEAST = {"word": 4, "letter": 8, "concept": 3, "pattern": 4, "strange": 3}     # lines that must hold a feature
WRITERS = 2                                                      # writers that must use a feature
COST = 0.7
STEP = 0.03             # weights are kept in steps of this size
# writers of whole messages, as they arrive: each line counts so often
WHOLE = frozenset(map(str, (*range(69, 133), *range(134, 146))))
OFTEN = 2
SHARPNESS = 6.8         # from the hold-out: see by_writer.py
Bag = dict[str, set[str]]


@dataclass
class Phrase:
    text: str
    label: str
    also: set[str]      # every label that counts as right
    writer: str
    bag: Bag


def label_of(entry: dict[str, str]) -> str:
    return f"caution:{entry['card']}" if entry["intent"] == "caution" else entry["intent"]


def load_phrases(writers: str = "") -> list[Phrase]:
    """Every line of the writers named (all, when none is), with its features."""
    found = []
    for path in sorted(PHRASES.glob("*.jsonl")):
        writer = path.stem.lower()
        if writers and writer not in writers:
            continue
        for line in path.read_text(encoding="utf-8").splitlines():
            entry = json.loads(line)
            also = {label_of(entry), *(label_of(more) for more in entry.get("also", ()))}
            text = plain(entry["text"])
            found.append(Phrase(text, label_of(entry), also, writer, features(text)))
    return found


@dataclass
class Space:
    """Features as columns: where each stands, and how rare it is."""

    names: list[str]
    column_of: dict[str, int]
    rarity: np.ndarray

    def matrix(self, bags: Iterable[Bag]) -> csr_matrix:
        """One row a message; each group of features has the length of its weight."""
        starts, columns, amounts = [0], [], []
        for bag in bags:
            for group, names in bag.items():
                known = [self.column_of[name] for name in sorted(names) if name in self.column_of]
                if known:
                    strength = self.rarity[known]
                    columns += known
                    amounts += (strength * (GROUP_WEIGHT[group] / math.sqrt(float(strength @ strength)))).tolist()
            starts.append(len(columns))
        shape = (len(starts) - 1, len(self.names))
        return csr_matrix((np.array(amounts), np.array(columns, np.int32), np.array(starts)), shape=shape)


def space_of(phrases: Sequence[Phrase]) -> Space:
    """The features that enough lines and enough writers use."""
    lines: Counter[str] = Counter()
    users: defaultdict[str, set[str]] = defaultdict(set)
    kept = []
    for group, least in LEAST.items():
        lines.clear()
        users.clear()
        for phrase in phrases:
            lines.update(phrase.bag[group])
            for name in phrase.bag[group]:
                users[name].add(phrase.writer)
        kept += [(name, n) for name, n in sorted(lines.items()) if n >= least and len(users[name]) >= WRITERS]
    names = [name for name, _ in kept]
    rarity = np.array([math.log((1 + len(phrases)) / (1 + n)) + 1 for _, n in kept], np.float32)
    return Space(names, {name: at for at, name in enumerate(names)}, rarity)


@dataclass
class Fit:
    space: Space
    labels: list[str]
    weights: np.ndarray     # feature x label
    bias: np.ndarray

    def scores(self, bags: Iterable[Bag]) -> np.ndarray:
        return self.space.matrix(bags) @ self.weights + self.bias


def fit(phrases: Sequence[Phrase], cost: float = COST) -> Fit:
    """One linear margin a label against all others, squared hinge loss."""
    space = space_of(phrases)
    labels = sorted({phrase.label for phrase in phrases})
    model = LinearSVC(C=cost, tol=2e-2, max_iter=100, random_state=7)
    often = [OFTEN if phrase.writer in WHOLE else 1 for phrase in phrases]
    model.fit(space.matrix(p.bag for p in phrases), [labels.index(p.label) for p in phrases], sample_weight=often)
    return Fit(space, labels, model.coef_.T, model.intercept_)


def as_text(fitted: Fit, writers: str) -> str:
    """The table as text; weights in steps, those of nought left out."""
    steps = np.clip(np.rint(fitted.weights / STEP), -127, 127).astype(int)
    lines = ["# which feature speaks for which label: <feature> <rarity> <label number>:<weight in steps> ...",
             f"fitted on\tknowledge/phrases {writers}", f"step\t{STEP}", f"sharpness\t{SHARPNESS}"]
    speaking = np.abs(steps).any(axis=1)
    lines.append(f"features\t{int(speaking.sum())}")
    lines += [f"group {group}\t{weight}" for group, weight in GROUP_WEIGHT.items()]
    lines += [f"label\t{label}\t{bias:.4f}" for label, bias in zip(fitted.labels, fitted.bias, strict=True)]
    lines.append("# features")
    for row in np.nonzero(speaking)[0]:
        pairs = " ".join(f"{column}:{steps[row, column]}" for column in np.nonzero(steps[row])[0])
        lines.append(f"{fitted.space.names[row]}\t{fitted.space.rarity[row]:.2f}\t{pairs}")
    return "\n".join(lines) + "\n"


def main() -> None:
    phrases = load_phrases()
    writers = " ".join(sorted({phrase.writer for phrase in phrases}))
    text = as_text(fit(phrases), writers)
    TABLE.write_bytes(gzip.compress(text.encode("utf-8"), 9, mtime=0))
    print(f"{len(phrases)} lines of writers {writers}; {text.count(chr(10))} features; {TABLE.stat().st_size:,} bytes")


if __name__ == "__main__":
    main()
