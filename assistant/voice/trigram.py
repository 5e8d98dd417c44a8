"""A word trigram in the open ARPA format, from sentences: interpolated Witten-Bell, seldom trigrams left out."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping

START, END, UNKNOWN = "<s>", "</s>", "<unk>"
NEVER = -99.0  # the log of nothing, as the format writes it
Gram = tuple[str, ...]


def arpa(sentences: Iterable[Gram], least: int = 2) -> str:
    """The model as text. Trigrams met fewer than `least` times are backed off to their bigrams. Deterministic."""
    counts = _counts(sentences)
    chances: list[dict[Gram, float]] = []
    for order, found in enumerate(counts):
        lower = chances[order - 1] if order else {}
        made = _chances(found, lower, order)
        if order == 2:
            made = {gram: p for gram, p in made.items() if found[gram] >= least}
        chances.append(made)
    return _text(chances, [_left_over(chances, 1), _left_over(chances, 2), {}])


def _counts(sentences: Iterable[Gram]) -> list[Counter[Gram]]:
    counts: list[Counter[Gram]] = [Counter(), Counter(), Counter()]
    for words in sentences:
        line = (START, *words, END)
        for order in range(3):
            counts[order].update(line[i : i + order + 1] for i in range(len(line) - order))
    del counts[0][(START,)]
    return counts


def _chances(found: Mapping[Gram, int], lower: Mapping[Gram, float], order: int) -> dict[Gram, float]:
    """(count + kinds * chance of the shorter gram) / (all + kinds), for each history."""
    total: Counter[Gram] = Counter()
    kinds: Counter[Gram] = Counter()
    for gram, count in found.items():
        total[gram[:-1]] += count
        kinds[gram[:-1]] += 1
    flat = 1 / len(found)
    return {
        gram: (count + kinds[gram[:-1]] * (lower[gram[1:]] if order else flat)) / (total[gram[:-1]] + kinds[gram[:-1]])
        for gram, count in found.items()
    }


def _left_over(chances: list[dict[Gram, float]], order: int) -> dict[Gram, float]:
    """For each history of `order` words: what its unseen words share, against what the shorter history gives them."""
    seen: dict[Gram, float] = defaultdict(float)
    below: dict[Gram, float] = defaultdict(float)
    for gram, chance in chances[order].items():
        seen[gram[:-1]] += chance
        below[gram[:-1]] += chances[order - 1][gram[1:]]
    return {history: max(1e-6, 1 - seen[history]) / max(1e-6, 1 - below[history]) for history in seen}


def _text(chances: list[dict[Gram, float]], left: list[dict[Gram, float]]) -> str:
    words = {**chances[0], (START,): 0.0, (UNKNOWN,): 0.0}
    lines = ["\\data\\", f"ngram 1={len(words)}", *(f"ngram {n + 1}={len(chances[n])}" for n in (1, 2)), ""]
    for order, table in enumerate((words, *chances[1:])):
        lines.append(f"\\{order + 1}-grams:")
        for gram in sorted(table):
            chance = math.log10(table[gram]) if table[gram] else NEVER
            back = f"\t{math.log10(left[order][gram]):.4f}" if gram in left[order] else ""
            lines.append(f"{chance:.4f}\t{' '.join(gram)}{back}")
        lines.append("")
    return "\n".join([*lines, "\\end\\", ""])
