"""Concepts: classes of words and phrases with one meaning, found in a message by a tree of word stems.

A concept lets "ashen", "slate" and "candle wax" count alike, so that a wording never met before is still understood.
The classes are plain lists in knowledge/concepts/*.toml.
"""

from __future__ import annotations

import tomllib
from collections.abc import Sequence
from functools import cache
from importlib import resources
from itertools import combinations
from typing import Any

SPELLINGS = "spellings.toml"
Tree = dict[str, Any]       # stem -> Tree; the key "" holds the names of the concepts that end here


@cache
def classes() -> dict[str, tuple[str, ...]]:
    """Every concept with the words and phrases that say it."""
    found: dict[str, tuple[str, ...]] = {}
    folder = resources.files("knowledge").joinpath("concepts")
    for entry in sorted(folder.iterdir(), key=lambda item: item.name):
        if entry.name.endswith(".toml") and entry.name != SPELLINGS:
            for name, concept in tomllib.loads(entry.read_text(encoding="utf-8")).items():
                found[name] = tuple(concept["say"])
    return found


@cache
def short_forms() -> dict[str, str]:
    """Short forms and sounds-alike, each with the plain word it stands for."""
    text = resources.files("knowledge").joinpath("concepts", SPELLINGS).read_text(encoding="utf-8")
    plain: dict[str, str] = tomllib.loads(text)["plain"]
    return plain


def build_tree(phrases: dict[str, list[tuple[str, ...]]]) -> Tree:
    """A tree of stems from each concept's phrases, already parted into stems."""
    tree: Tree = {}
    for name, said in phrases.items():
        for stems in said:
            branch = tree
            for part in stems:
                branch = branch.setdefault(part, {})
            names = branch.setdefault("", [])
            if name not in names:
                names.append(name)
    return tree


def find(stems: Sequence[str], tree: Tree) -> list[tuple[str, int, int]]:
    """(concept, first word, word after the last) for the longest phrase of each concept at each place."""
    found: list[tuple[str, int, int]] = []
    size = len(stems)
    for start in range(size):
        branch = tree.get(stems[start])
        if branch is None:
            continue
        at = start + 1
        ends: dict[str, int] = {}
        while True:
            for name in branch.get("", ()):
                ends[name] = at
            if at >= size:
                break
            branch = branch.get(stems[at])
            if branch is None:
                break
            at += 1
        found += [(name, start, end) for name, end in ends.items()]
    return found


def pairs(names: Sequence[str]) -> list[str]:
    """Pairs of different concepts in any order; `names` sorted, each once."""
    return [f"p:{a}+{b}" for a, b in combinations(names, 2)]
