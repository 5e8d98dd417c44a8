"""The features of a message: words, letters within words, concepts, and patterns of both. The same for fit and use.

A feature is a short string that a person can read in the table of weights:
    w:rinse        a word, lightly stemmed                 b:how_long     two words in a row
    s:two_apart    two words with one between
    c:<rin         letters within a word, < and > its ends
    k:breath_hard  a concept (knowledge/concepts)          p:chest+tight  two concepts in any order
    v:strange_2    words that are not at home in talk of feeding: how many, and what share
    g:{ask_when}_{finish}   two in a row, concepts in place of words; h: with one between
"""

from __future__ import annotations

import itertools
import re
from functools import cache, lru_cache
from typing import NamedTuple

from assistant.language.concepts import Tree, build_tree, classes, find, pairs, short_forms
from assistant.language.numbers import number_classes
from assistant.language.spelling import familiar, repaired

_TOKEN = re.compile(r"#[a-z]+\d?|[a-z]+(?:'[a-z]+)*|[?!@%/&+=]|[^\W\d_]+|[\U0001f300-\U0001faff\u2600-\u27bf]")
_OWNER = re.compile(r"(?<=[a-z])'(?:s|m|re|ve|ll|d)\b")       # "tube's", "she's": the word before is what counts
_STRETCHED = re.compile(r"([a-z])\1{2,}")
_SHORT = frozenset({
    "this", "his", "is", "was", "has", "as", "us", "yes", "bus", "gas", "plus", "less", "always", "does", "goes", "its",
})
_ENDINGS = (("ing", 6), ("edly", 7), ("ies", 5), ("ied", 5), ("ed", 5), ("ly", 6), ("es", 6), ("s", 4))


def tokens(text: str) -> list[str]:
    """The words of `text`, lower case, numbers as classes, marks that carry meaning kept, short forms spelt out."""
    text = number_classes(_STRETCHED.sub(r"\1\1", text.lower()))
    found: list[str] = _TOKEN.findall(_OWNER.sub("", text).replace("can not", "cant"))
    plain = short_forms()
    return [plain.get(word, word) for word in (token.replace("'", "") for token in found)]


@lru_cache(maxsize=20_000)
def stem(word: str) -> str:
    """`word` without its commonest endings: plural, -ing, -ed, -ly. A light stem: meanings are not merged."""
    if len(word) < 4 or word in _SHORT or word[0] == "#":
        return word
    for ending, least in _ENDINGS:
        if word.endswith(ending) and len(word) >= least:
            return _without(word, ending)
    return word.rstrip("e") if len(word) > 4 else word


def _without(word: str, ending: str) -> str:
    root = word[: -len(ending)]
    if ending == "s" and root[-1] in "su":
        return word
    if ending in ("ies", "ied"):
        return root + "y"
    if ending == "es" and root[-1] not in "sxzh":
        return root if not root.endswith("e") else root[:-1]
    if ending in ("ing", "ed") and len(root) > 3 and root[-1] == root[-2] and root[-1] not in "ls":
        root = root[:-1]
    return root.rstrip("e") if len(root) > 3 else root


@lru_cache(maxsize=20_000)
def letters(word: str) -> tuple[str, ...]:
    """Runs of 2 to 5 letters within `word`, its ends marked."""
    if word[0] == "#":
        return ()
    edged = f"<{word[:30]}>"
    return tuple({f"c:{edged[i:i + n]}" for n in (2, 3, 4, 5) for i in range(len(edged) - n + 1)})


@cache
def concept_tree() -> Tree:
    """The tree of all concepts, each phrase parted and stemmed just as a message is."""
    return build_tree({
        name: [tuple(map(stem, tokens(phrase))) for phrase in said] for name, said in classes().items()
    })


def word_features(stems: list[str]) -> list[str]:
    """Words, two in a row, and two with one between."""
    edged = ["^", *stems, "$"]
    found = [f"w:{s}" for s in stems]
    found += [f"b:{a}_{b}" for a, b in itertools.pairwise(edged)]
    found += [f"s:{a}_{c}" for a, c in zip(stems, stems[2:], strict=False)]
    return found


def concept_names(stems: list[str], hits: list[tuple[str, int, int]]) -> list[str]:
    """Every concept met, with the classes of numbers and the question mark, each once, in order of the alphabet."""
    return sorted({name for name, _, _ in hits} | {s for s in stems if s[0] == "#" or s == "?"})


def pattern_features(stems: list[str], hits: list[tuple[str, int, int]]) -> list[str]:
    """Rows of two in which the longest concept at each place stands for its words."""
    longest: dict[int, tuple[int, str]] = {}
    for name, start, end in hits:
        if start not in longest or end > longest[start][0]:
            longest[start] = (end, name)
    row, at = ["^"], 0
    while at < len(stems):
        if at in longest:
            at, name = longest[at]
            row.append(f"{{{name}}}")
        else:
            row.append(stems[at])
            at += 1
    row.append("$")
    found = [f"g:{a}_{b}" for a, b in itertools.pairwise(row)]
    found += [f"h:{a}_{c}" for a, c in zip(row, row[2:], strict=False)]
    return found


def strange_features(mended: list[str]) -> list[str]:
    """How many of the words, and what share of them, are strangers to talk of feeding."""
    words = [word for word in mended if word[0].isalpha()]
    strange = sum(word not in familiar() for word in words if len(word) >= 3)
    share = round(4 * strange / len(words)) if words else 0
    return [f"v:strange_{min(strange, 5)}", f"v:share_{share}", f"v:strange_{min(strange, 5)}_of_{min(len(words), 12)}"]


class Parts(NamedTuple):
    """A message taken apart: words as said and once mended, their stems, and the concepts met with their places."""

    said: list[str]
    mended: list[str]
    stems: list[str]
    hits: list[tuple[str, int, int]]


@lru_cache(maxsize=256)  # the danger station and the question look at the same words
def take_apart(text: str) -> Parts:
    said = tokens(text)
    if said[:1] == ["and"] and len(said) > 1:  # it says that something was said before, not what is asked
        said = said[1:]
    mended = repaired(said)
    stems = [stem(word) for word in mended]
    return Parts(said, mended, stems, find(stems, concept_tree()))


def spoken_features(parts: Parts) -> dict[str, list[str]]:
    """The features of words, concepts, patterns and strangeness; one may be listed twice and counts once."""
    names = concept_names(parts.stems, parts.hits)
    return {
        "word": word_features(parts.stems),
        "concept": [f"k:{name}" for name in names] + pairs(names),
        "pattern": pattern_features(parts.stems, parts.hits),
        "strange": strange_features(parts.mended),
    }


def features_of(parts: Parts) -> dict[str, set[str]]:
    """All features of a message taken apart, by group."""
    spoken = {group: set(names) for group, names in spoken_features(parts).items()}
    return {**spoken, "letter": {run for word in parts.said for run in letters(word)}}


def features(text: str) -> dict[str, set[str]]:
    """All features of `text` (plain words), by group."""
    return features_of(take_apart(text))
