"""Signs in a message: every concept of knowledge/signs that its words name, with where, and whether it is denied.

In a vocabulary "a/b" is a or b, "=word" wants that very form, "_" any one word, "<name>" another concept's words.
"""

from __future__ import annotations

from functools import cache
from itertools import product
from typing import Any, NamedTuple

from assistant.danger.words import COMMA, MEANT, Said, fold, stem
from knowledge.library import load

NEGATORS = frozenset(
    {"not", "no", "never", "without", "isn't", "don't", "hasn't", "can't", "won't", "none", "nor", "neither", "nothing"}
)
REACH = 5  # words that a "no" reaches forward
ENDS_NO = frozenset({COMMA, "but", "and", "though", "except", "because", "just", "only", "then"})
THOUGHT = frozenset({"think", "say", "said", "sure", "believe", "know", "if", "that", "feel", "see", "because", "when"})


class Hit(NamedTuple):
    """A concept named from word `start` up to `end`."""

    start: int
    end: int
    denied: bool = False


Tree = dict[str, Any]
Named = tuple[str, int, int, bool]  # concept, from, to, holds its own "no"
_END = ""


@cache
def vocabularies() -> dict[str, dict[str, Any]]:
    """Every concept by name: its words (`say`), and `fact` where a "no" before it does not deny it."""
    return {
        name: concept
        for file, all_ in load("signs").items()
        if file != "words"
        for name, concept in all_.items()
        if name != "rule" and "say" in concept
    }


def _phrases(line: str, depth: int = 0) -> list[tuple[str, ...]]:
    choices: list[list[tuple[str, ...]]] = []
    for part in line.split():
        if part.startswith("<"):
            inner = vocabularies()[part[1:-1]]["say"]
            choices.append([p for words in inner for p in _phrases(words, depth + 1)])
        elif part in MEANT and any(NEGATORS & set(edges) for before in choices for edges in before):
            choices.append([(stem(part),)])
        else:
            choices.append([_edges(word) for word in part.split("/")])
    return [tuple(edge for piece in combination for edge in piece) for combination in product(*choices)]


@cache
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
                if (
                    len(phrase) > 1 or (phrase and len(line.split()) == 1) or line.startswith("<")
                ):  # "so hot" must not become "hot"
                    at.setdefault(_END, set()).add((name, any(edge.lstrip("=") in NEGATORS for edge in phrase)))
    return root


def find(said: Said) -> dict[str, list[Hit]]:
    """Every concept named in the message. An idiom takes its words away from all other concepts."""
    root, stems, sentence = _tree(), said.stem, said.sentence
    exact = ["=" + word for word in said.raw]
    found: list[Named] = []
    last = len(stems)
    for start, begun in enumerate(zip(stems, exact, strict=True)):
        nodes = [node for node in map(root.get, begun) if node is not None]
        here, at = sentence[start], start + 1
        while nodes:
            for node in nodes:
                for name, unit in node.get(_END, ()):
                    found.append((name, start, at, unit))
            if at == last or sentence[at] != here:
                break
            edges = (stems[at], exact[at], "_")
            nodes = [n for node in nodes for edge in edges if (n := node.get(edge)) is not None]
            at += 1
    return _arranged(found, said)


@cache
def _facts() -> frozenset[str]:
    """Concepts that a "no" before them does not deny."""
    return frozenset(name for name, concept in vocabularies().items() if concept.get("fact"))


def _arranged(found: list[Named], said: Said) -> dict[str, list[Hit]]:
    idioms = [(s, e) for name, s, e, _ in found if name == "idiom"]
    if idioms:  # a phrase longer than the idiom keeps its words
        found = [
            f
            for f in found
            if f[0] == "idiom"
            or f[0].endswith("_ok")  # what stands for another thing is never taken away
            or not any(s < f[2] and f[1] < e and f[1] >= s and f[2] <= e for s, e in idioms)
        ]
    negators = [at for at, word in enumerate(said.raw) if word in NEGATORS]
    denied: set[int] = set()
    if negators:
        covered = [(s, e) for name, s, e, unit in found if (unit and e - s > 1) or name in ("not_a_no", "idiom")]
        free = [at for at in negators if not any(s <= at < e for s, e in covered)]
        denied = _denied(said, free)
    facts = _facts()
    noes = [(s, e) for name, s, e, unit in found if unit and name != "resolved"]
    hits: dict[str, list[Hit]] = {}
    for name, start, end, _ in found:
        # "isn't coming round" is a sign with its own "no": the "coming round" in it settles nothing
        unsettled = name == "resolved" and any(s < start and end <= e for s, e in noes)
        hits.setdefault(name, []).append(Hit(start, end, unsettled or (start in denied and name not in facts)))
    return hits


def _denied(said: Said, negators: list[int]) -> set[int]:
    """The words that a "no" before them denies: a few words on, not past a pause."""
    denied: set[int] = set()
    for at in negators:
        for on in range(at + 1, min(at + 1 + REACH, len(said.raw))):
            if said.sentence[on] != said.sentence[at] or said.raw[on] in ENDS_NO:
                break
            if said.raw[on] == "it" and on > at + 1 and said.raw[on - 1] not in THOUGHT:
                break  # "it's not jam it's blood"
            denied.add(on)
    return denied
