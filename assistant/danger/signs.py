"""Signs in a message: every concept of knowledge/signs that its words name, with where, and whether it is denied.

In a vocabulary "a/b" is a or b, "=word" wants that very form, "_" any one word, "<name>" another concept's words.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from itertools import product
from typing import Any, NamedTuple

from assistant.danger.words import COMMA, MEANT, Said, fold, stem
from knowledge.library import load

NEGATORS = frozenset(
    {"not", "no", "never", "without", "isn't", "don't", "hasn't", "can't", "won't", "none", "nor", "neither", "nothing"}
)
REACH = 5  # words that a "no" reaches forward
ENDS_NO = frozenset({COMMA, "but", "and", "though", "except", "because", "just", "only", "then", "since"})
THOUGHT = frozenset({"think", "say", "said", "sure", "believe", "know", "if", "that", "feel", "see", "because", "when"})


class Hit(NamedTuple):
    """A concept named from word `start` up to `end`."""

    start: int
    end: int
    denied: bool = False


Tree = dict[str, Any]
Ends = tuple[tuple[str, bool], ...]  # the concepts that end at a node, and whether they hold their own "no"
Named = tuple[Ends, int, int]  # concepts, from, to
_END = ""


class Node(NamedTuple):
    """A word of a phrase: what ends with it, and what may follow by its stem, its very form, or as any word."""

    ends: Ends
    stems: dict[str, Node]
    exact: dict[str, Node]
    any_word: Node | None


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
def _tree() -> Node:
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
    return _node(root)._replace(any_word=None)


def _node(tree: Tree) -> Node:
    """The tree as it is walked: most words begin no "=form" and no "_", and those need no look."""
    kinds: tuple[dict[str, Node], dict[str, Node]] = ({}, {})
    for edge, below in tree.items():
        if edge not in (_END, "_"):
            kinds[edge[0] == "="][edge.lstrip("=")] = _node(below)
    wild = tree.get("_")
    return Node(tuple(tree.get(_END, ())), *kinds, _node(wild) if wild is not None else None)


def find(said: Said) -> dict[str, list[Hit]]:
    """Every concept named in the message. An idiom takes its words away from all other concepts."""
    root, stems, raw, sentence = _tree(), said.stem, said.raw, said.sentence
    found: list[Named] = []
    last = len(stems)
    for start in range(last):
        nodes: list[Node] = []
        _step(root, stems[start], raw[start], nodes)
        here, at = sentence[start], start + 1
        while nodes:
            further = at < last and sentence[at] == here
            met: list[Node] = []
            for node in nodes:
                if node.ends:
                    found.append((node.ends, start, at))
                if further:
                    _step(node, stems[at], raw[at], met)
            nodes, at = met, at + 1
    return _arranged(found, said)


def _step(node: Node, stemmed: str, word: str, met: list[Node]) -> None:
    if (found := node.stems.get(stemmed)) is not None:
        met.append(found)
    if node.exact and (found := node.exact.get(word)) is not None:
        met.append(found)
    if node.any_word is not None:
        met.append(node.any_word)


@cache
def _facts() -> frozenset[str]:
    """Concepts that a "no" before them does not deny."""
    return frozenset(name for name, concept in vocabularies().items() if concept.get("fact"))


def _arranged(groups: list[Named], said: Said) -> dict[str, list[Hit]]:
    idioms = [(s, e) for ends, s, e in groups for name, _ in ends if name == "idiom"]
    if idioms:  # a phrase longer than the idiom keeps its words
        groups = [(tuple(_beside(idioms, ends, s, e)), s, e) for ends, s, e in groups]
    negators = [at for at, word in enumerate(said.raw) if word in NEGATORS]
    denied: set[int] = set()
    if negators:
        covered = [
            (s, e)
            for ends, s, e in groups
            for name, unit in ends
            if (unit and e - s > 1) or name in ("not_a_no", "idiom")
        ]
        denied = _denied(said, [at for at in negators if not any(s <= at < e for s, e in covered)])
    facts = _facts()
    hits: dict[str, list[Hit]] = {}
    for ends, start, end in groups:
        hit = plain = Hit(start, end)
        if start in denied:
            hit = Hit(start, end, denied=True)
        for name, _ in ends:
            hits.setdefault(name, []).append(plain if name in facts else hit)
    if "resolved" in hits:
        # "isn't coming round" is a sign with its own "no": the "coming round" in it settles nothing
        noes = [(s, e) for ends, s, e in groups for name, unit in ends if unit and name != "resolved"]
        hits["resolved"] = [
            Hit(h.start, h.end, denied=h.denied or any(s < h.start and h.end <= e for s, e in noes))
            for h in hits["resolved"]
        ]
    return hits


SAID_BY_IT = frozenset({"idiom", "sugar", "sugar_word"})


def _beside(idioms: list[tuple[int, int]], ends: Ends, start: int, end: int) -> Iterable[tuple[str, bool]]:
    """Of the concepts named from `start` to `end`, those that no idiom takes away."""
    taken = any(s < end and start < e and start >= s and end <= e for s, e in idioms)
    # what stands for another thing ("_ok") is never taken away, nor the sugar of "blood sugar" (no blood is seen there)
    return (named for named in ends if not taken or named[0] in SAID_BY_IT or named[0].endswith("_ok"))


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
