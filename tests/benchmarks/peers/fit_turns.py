"""Fit the ear that hears a turn in its place (knowledge/weights/turns.tsv.gz). Development only.

    python tests/benchmarks/peers/fit_turns.py             fit on all writers and write the table
    python tests/benchmarks/peers/fit_turns.py NAME ...    judge these writers by a fit on the others, write nothing

Each line of a writer's file in tests/turns_marked: the reply before (its intent and outcome, what it asked back, the
last sum of the talk), the turn's words, and the question that it asks. Needs the `fit` extra (scikit-learn). The same
data give the same table.
"""

from __future__ import annotations

import gzip
import json
import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

import numpy as np
from sklearn.feature_extraction import DictVectorizer
from sklearn.linear_model import LogisticRegression

ROOT = Path(__file__).resolve().parents[3]
sys.path.insert(0, str(ROOT))

from assistant.hear import hear  # noqa: E402
from assistant.hear.plain import plain  # noqa: E402
from assistant.language.turn_features import Before, features  # noqa: E402
from assistant.understand import rank  # noqa: E402

MARKED = ROOT / "tests" / "turns_marked"
TABLE = ROOT / "knowledge" / "weights" / "turns.tsv.gz"
COST = 6.0
LEAST = 2  # lines that must hold a feature
STEP, SMALLEST = 0.03, 1
Turn = tuple[dict[str, float], str, str, list[str]]  # features, label, writer, what would be right


def load() -> list[Turn]:
    found = []
    for path in sorted(MARKED.glob("*.jsonl")):
        for line in path.read_text(encoding="utf-8").splitlines():
            told = json.loads(line)
            text = plain(told["text"])
            bag = features(text, hear(text), Before(**told["before"]), rank(text))
            found.append((bag, told["intent"], path.stem, [told["intent"], *told.get("also", [])]))
    return found


def fit(turns: Sequence[Turn]) -> tuple[DictVectorizer, LogisticRegression]:
    held = Counter(name for bag, *_ in turns for name in bag)
    space = DictVectorizer(dtype=np.float32)
    matrix = space.fit_transform([{n: v for n, v in bag.items() if held[n] >= LEAST} for bag, *_ in turns])
    model = LogisticRegression(C=COST, max_iter=400)
    model.fit(matrix, [label for _, label, *_ in turns])
    return space, model


def write(space: DictVectorizer, model: LogisticRegression, writers: Sequence[str]) -> None:
    steps = np.clip(np.rint(model.coef_.T / STEP), -127, 127).astype(int)
    lines = ["# which feature of a turn speaks for which question: <feature> <label number>:<weight in steps> ...",
             f"# fitted on\ttests/turns_marked {' '.join(writers)}", f"step\t{STEP}"]
    bias = zip(model.classes_, model.intercept_, strict=True)
    lines += [f"label\t{label}\t{value:.4f}" for label, value in bias]
    for name, row in zip(space.get_feature_names_out(), steps, strict=True):
        told = " ".join(f"{at}:{weight}" for at, weight in enumerate(row) if abs(weight) > SMALLEST)
        if told:
            lines.append(f"{name}\t{told}")
    TABLE.write_bytes(gzip.compress("\n".join(lines).encode("utf-8"), mtime=0))
    print(f"{len(lines)} lines, {TABLE.stat().st_size:,} bytes")


def judge(space: DictVectorizer, model: LogisticRegression, turns: Sequence[Turn]) -> None:
    shares = model.predict_proba(space.transform([bag for bag, *_ in turns]))
    right = [model.classes_[row.argmax()] in turn[3] for row, turn in zip(shares, turns, strict=True)]
    print(f"{len(turns)} turns of writers kept out: right {sum(right) / len(right):.1%}")
    for least in (0.6, 0.7, 0.8, 0.9):
        sure = [good for good, row in zip(right, shares, strict=True) if row.max() >= least]
        print(f"  sure at {least}: {len(sure)} of them, right {sum(sure) / max(1, len(sure)):.1%}")


def main(kept_out: list[str]) -> None:
    every = load()
    others = [turn for turn in every if turn[2] not in kept_out]
    space, model = fit(others)
    if kept_out:
        judge(space, model, [turn for turn in every if turn[2] in kept_out])
    else:
        write(space, model, sorted({turn[2] for turn in every}))


if __name__ == "__main__":
    main(sys.argv[1:])
