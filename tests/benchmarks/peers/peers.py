"""Our language layer beside common text classifiers, on the same phrases, split by writer. Development only.

    OMP_NUM_THREADS=1 python tests/benchmarks/peers/peers.py [WRITERS]      default: cfogk, each alone
Each writer named is judged by fits on all others (general talk, files 5 and z, is always fitted on).
Same files, same table, but for the times. What the columns say: README.md.
"""

from __future__ import annotations

import gzip
import importlib.util
import pickle
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
import spacy
from by_writer import CALM_ALARMS, judged
from fit_language import SHARPNESS, Phrase, as_text, fit, load_phrases
from scipy.sparse import csr_matrix
from sklearn.feature_extraction.text import TfidfVectorizer
from sklearn.linear_model import SGDClassifier
from sklearn.pipeline import FeatureUnion

from assistant.asked.question import CLEAR
from assistant.language.features import features

WRITERS = "cfogk"
ALWAYS_FITTED_ON = "5z"
SET_BY = "hl"           # writers by whom the sharpness of the peers is set; never judged
SEED = 7
ROUNDS = 5              # passes of the logistic regression over the lines
SMALLEST = 5e-6         # its shrinkage; better than 1e-6 on the writers of SET_BY
SHARPER = (0.5, 1, 2, 3, 4, 6, 8, 12, 16, 24, 32)
TIMED = 300             # lines of each writer that are timed
EMBEDDERS = ("sentence_transformers", "model2vec", "fastembed")


class Peer(Protocol):
    labels: list[str]

    def scores(self, texts: Sequence[str]) -> np.ndarray: ...     # a row a text, a column a label

    def size(self) -> int: ...      # bytes of what answering needs


def vectors() -> FeatureUnion:
    """Words and pairs of words; 2 to 5 letters within words. Each half has length 1."""
    return FeatureUnion([
        ("words", TfidfVectorizer(ngram_range=(1, 2), token_pattern=r"\S+", min_df=2, sublinear_tf=True)),
        ("letters", TfidfVectorizer(analyzer="char_wb", ngram_range=(2, 5), min_df=2, sublinear_tf=True)),
    ])


class Ours:
    def __init__(self, phrases: Sequence[Phrase]) -> None:
        self.fitted = fit(phrases)
        self.labels = self.fitted.labels

    def scores(self, texts: Sequence[str]) -> np.ndarray:
        return self.fitted.scores(features(text) for text in texts)

    def size(self) -> int:
        return len(gzip.compress(as_text(self.fitted, "").encode("utf-8")))


class Logistic:
    """One-vs-rest logistic regression over `vectors`, fitted by stochastic descent."""

    def __init__(self, phrases: Sequence[Phrase]) -> None:
        self.vectors = vectors()
        self.model = SGDClassifier(loss="log_loss", alpha=SMALLEST, max_iter=ROUNDS, tol=None, random_state=SEED)
        self.model.fit(self.vectors.fit_transform([p.text for p in phrases]), [p.label for p in phrases])
        self.labels = self.model.classes_.tolist()
        self.weights = np.ascontiguousarray(self.model.coef_.T, np.float32)

    def scores(self, texts: Sequence[str]) -> np.ndarray:
        """Logarithm of each label's own probability."""
        margin = self.vectors.transform(texts) @ self.weights + self.model.intercept_
        return -np.logaddexp(0, -margin)

    def size(self) -> int:
        return int(self.weights.nbytes) + len(pickle.dumps(self.vectors))


class Nearest:
    """The likeness (cosine) of the nearest line of each label."""

    def __init__(self, phrases: Sequence[Phrase]) -> None:
        self.vectors = vectors()
        ordered = sorted(phrases, key=lambda p: p.label)
        self.labels = sorted({p.label for p in ordered})
        self.starts = [[p.label for p in ordered].index(label) for label in self.labels]
        self.lines = csr_matrix(self.vectors.fit_transform([p.text for p in ordered]).T)

    def scores(self, texts: Sequence[str]) -> np.ndarray:
        found = self.vectors.transform(texts)
        parts = [(found[at:at + 200] @ self.lines).toarray() for at in range(0, found.shape[0], 200)]
        return np.vstack([np.maximum.reduceat(part, self.starts, axis=1) for part in parts]) / 2  # two halves

    def size(self) -> int:
        return len(pickle.dumps((self.vectors, self.lines)))


PEERS: dict[str, Callable[[Sequence[Phrase]], Peer]] = {
    "ours": Ours, "TF-IDF, logistic regression": Logistic, "nearest phrase": Nearest,
}


@dataclass
class Found:
    """What was measured of one method, one entry a writer."""

    judged: list[dict[str, np.ndarray]] = field(default_factory=list)
    times: list[float] = field(default_factory=list)
    sizes: list[int] = field(default_factory=list)


def sharpness(make: Callable[[Sequence[Phrase]], Peer], phrases: list[Phrase], unseen: str) -> float:
    """The factor that makes a peer's shares fit best (mean log loss) on writers that are not judged."""
    held = [p for p in phrases if p.writer in SET_BY]
    peer = make([p for p in phrases if p.writer not in SET_BY + unseen])
    scores = peer.scores([p.text for p in held])
    losses = {by: judged(held, peer.labels, scores * (by / SHARPNESS))["loss"].mean() for by in SHARPER}
    return float(min(losses, key=lambda by: losses[by]))


def microseconds(action: Callable[[str], object], texts: Sequence[str]) -> list[float]:
    """How long `action` takes for each text, alone."""
    taken = []
    for text in texts:
        start = time.perf_counter()
        action(text)
        taken.append((time.perf_counter() - start) * 1e6)
    return taken


def row(name: str, found: Found, tokenizer: float) -> str:
    """One row of the table, all writers together."""
    all_ = {key: np.concatenate([part[key] for part in found.judged]) for key in found.judged[0]}
    threshold = float(np.quantile(all_["danger p"][all_["calm"]], 1 - CALM_ALARMS))
    alarm = all_["danger first"] | (all_["danger p"] >= threshold)
    wrong = (all_["p"] >= CLEAR) & ~all_["right"]
    taken = statistics.median(found.times)
    cells = (
        f"{all_['right'].mean():.1%}", f"{all_['first three'].mean():.1%}", f"{wrong.mean():.1%}",
        f"{(all_['p'] >= CLEAR).mean():.1%}",
        f"{alarm[all_['danger']].mean():.1%}", f"{alarm[all_['calm']].mean():.1%}",
        f"{1 - all_['right'][all_['outside']].mean():.1%}", f"{taken:.0f} ({taken / tokenizer:.0f}x)",
        f"{statistics.mean(found.sizes) / 1e6:.1f}",
    )
    return f"| {name} | {' | '.join(cells)} |"


def main(writers: str) -> None:
    if set(writers) & set(ALWAYS_FITTED_ON + SET_BY):
        sys.exit(f"writers {', '.join(ALWAYS_FITTED_ON + SET_BY)} are not judged")
    phrases = load_phrases()
    if unknown := set(writers) - {p.writer for p in phrases}:
        sys.exit(f"no such writer: {', '.join(sorted(unknown))}")
    sharp = {name: sharpness(make, phrases, writers) for name, make in PEERS.items() if make is not Ours}
    sharp["ours"] = SHARPNESS
    print("sharpness:", ", ".join(f"{name} {by:g}" for name, by in sharp.items()), file=sys.stderr, flush=True)
    found = {name: Found() for name in PEERS}
    tokenizer = spacy.blank("en").tokenizer
    tokenizing: list[float] = []
    for writer in writers:
        held = [p for p in phrases if p.writer == writer]
        others = [p for p in phrases if p.writer != writer]
        texts = [p.text for p in held]
        tokenizing += microseconds(tokenizer, texts[:TIMED])
        for name, make in PEERS.items():
            start = time.perf_counter()
            peer = make(others)
            took = time.perf_counter() - start
            one = judged(held, peer.labels, peer.scores(texts) * (sharp[name] / SHARPNESS))
            found[name].judged.append(one)
            found[name].times += microseconds(lambda text, by=peer: by.scores([text]), texts[:TIMED])  # type: ignore[misc]
            found[name].sizes.append(peer.size())
            print(f"{writer}, {name}: right {one['right'].mean():.1%}, fitted in {took:.0f} s",
                  file=sys.stderr, flush=True)
    usual = statistics.median(tokenizing)
    lines = sum(p.writer in writers for p in phrases)
    print(f"{lines} lines of writers {writers}, each judged by a fit on all others; tokenizer {usual:.0f} us a line\n")
    print("| method | right | right or offered | wrong | acted on | danger heard | calm alarms | outside taken up "
          "| us a line (x tokenizer) | MB |\n|---|---|---|---|---|---|---|---|---|---|")
    for name, measured in found.items():
        print(row(name, measured, usual))
    here = [package for package in EMBEDDERS if importlib.util.find_spec(package)]
    why = f"not measured, though {here[0]} is here" if here else "not installed here"
    print(f"| sentence embeddings | {why} |" + " |" * 8)


if __name__ == "__main__":
    main("".join(sys.argv[1:]) or WRITERS)
