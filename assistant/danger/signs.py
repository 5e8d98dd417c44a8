"""Signs in a message: every concept of knowledge/signs that its words name, with where, and whether it is denied.

In a vocabulary "a/b" is a or b, "=word" wants that very form, "_" any one word, "<name>" another concept's words.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from itertools import product
from typing import Any

from assistant.danger.words import COMMA, Said, fold
from knowledge.library import load

NEGATORS = frozenset({"not", "no", "never", "without", "isn't", "don't", "hasn't", "can't", "won't", "none", "nor", "neither", "nothing"})
REACH = 5           # words that a "no" reaches forward
ENDS_NO = frozenset({COMMA, "but", "and", "though", "except", "because", "just", "only", "then"})


@dataclass(frozen=True, slots=True)
class Hit:
    """A concept named from word `start` up to `end`."""

    start: int
    end: int
    denied: bool = False


Tree = dict[str, Any]
_END = ""


@cache
def vocabularies() -> dict[str, dict[str, Any]]:
    """Every concept by name: its words (`say`), and `fact` where a "no" before it does not deny it."""
    return {name: concept for file, all_ in load("signs").items() if file != "words"
            for name, concept in all_.items() if name != "rule" and "say" in concept}


def _phrases(line: str, depth: int = 0) -> list[tuple[str, ...]]:
    choices: list[list[tuple[str, ...]]] = []
    for part in line.split():
        if part.startswith("<"):
            inner = vocabularies()[part[1:-1]]["say"]
            choices.append([p for words in inner for p in _phrases(words, depth + 1)])
        else:
            choices.append([_edges(word) for word in part.split("/")])
    return [tuple(edge for piece in combination for edge in piece) for combination in product(*choices)]


def _edges(word: str) -> tuple[str, ...]:
    if word == "_":
        return ("_",)
    if word.startswith("="):
        return (word,)
    return tuple(fold(word, repair=False).stem)


@cache
def _tree() -> Tree:
    root: Tree = {}
    for name, concept in vocabularies().items():
        for line in concept["say"]:
            for phrase in _phrases(line):
                at = root
                for edge in phrase:
                    at = at.setdefault(edge, {})
                if phrase:
                    at.setdefault(_END, set()).add((name, any(edge.lstrip("=") in NEGATORS for edge in phrase)))
    return root


def find(said: Said) -> dict[str, list[Hit]]:
    """Every concept named in the message. An idiom takes its words away from all other concepts."""
    root, stems, raws = _tree(), said.stem, said.raw
    found: list[tuple[str, int, int, bool]] = []
    for start in range(len(stems)):
        nodes = [root]
        at = start
        while nodes and at < len(stems):
            if at > start and said.sentence[at] != said.sentence[start]:
                break
            word, raw = stems[at], "=" + raws[at]
            nodes = [n for node in nodes for n in (node.get(word), node.get(raw), node.get("_") if at > start else None) if n]
            at += 1
            for node in nodes:
                for name, unit in node.get(_END, ()):
                    found.append((name, start, at, unit))
    return _arranged(found, said)


def _arranged(found: list[tuple[str, int, int, bool]], said: Said) -> dict[str, list[Hit]]:
    idioms = [(s, e) for name, s, e, _ in found if name == "idiom"]
    kept = [f for f in found if f[0] == "idiom" or not any(s < f[2] and f[1] < e and not (f[1] < s or f[2] > e) for s, e in idioms)]
    units = {at for _, s, e, unit in kept if unit for at in range(s, e) if said.stem[at] in NEGATORS or said.raw[at] in NEGATORS}
    units |= {at for name, s, e, _ in kept if name in ("not_a_no", "idiom") for at in range(s, e)}
    denied = _denied(said, units)
    facts = {name for name, concept in vocabularies().items() if concept.get("fact")}
    hits: dict[str, list[Hit]] = {}
    for name, start, end, unit in kept:
        hits.setdefault(name, []).append(Hit(start, end, name not in facts and start in denied))
    return hits


def _denied(said: Said, units: set[int]) -> set[int]:
    """The words that a "no" before them denies: a few words on, not past a pause."""
    denied: set[int] = set()
    for at, word in enumerate(said.raw):
        if word not in NEGATORS or at in units:
            continue
        for on in range(at + 1, min(at + 1 + REACH, len(said.raw))):
            if said.sentence[on] != said.sentence[at] or said.raw[on] in ENDS_NO:
                break
            denied.add(on)
    return denied
