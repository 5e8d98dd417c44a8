"""The features of a message: words, letters within words, and concepts. Pure functions, the same for fit and use.

A feature is a short string that a person can read in the table of weights:
    w:rinse        a word, lightly stemmed                 b:how_long     two words in a row
    t:end_of_feed  three words in a row                    s:two_apart    two words with one between
    c:<rin         letters within a word, < and > its ends
    k:breath_hard  a concept (knowledge/concepts)          p:chest+tight  two concepts in one clause, in any order
"""

from __future__ import annotations

import re
from functools import cache, lru_cache

from assistant.language.concepts import Tree, build_tree, classes, find, pairs, short_forms
from assistant.language.numbers import number_classes

_TOKEN = re.compile(r"#[a-z]+\d?|[a-z]+(?:'[a-z]+)*|[?!@%/&+=]|[^\W\d_]+|[\U0001f300-\U0001faff\u2600-\u27bf]")
_OWNER = re.compile(r"(?<=[a-z])'(?:s|m|re|ve|ll|d)\b")       # "tube's", "she's": the word before is what counts
_STRETCHED = re.compile(r"([a-z])\1{2,}")


def tokens(text: str) -> list[str]:
    """The words of `text`, lower case, numbers as classes, marks that carry meaning kept."""
    text = number_classes(_STRETCHED.sub(r"\1\1", text.lower()))
    found: list[str] = _TOKEN.findall(_OWNER.sub("", text).replace("can not", "cant"))
    plain = short_forms()
    return [plain.get(word, word) for word in (token.replace("'", "") for token in found)]


_SHORT = frozenset("this his is was has as us yes bus gas plus less always does goes its".split())


@lru_cache(maxsize=20_000)
def stem(word: str) -> str:
    """`word` without its commonest endings: plural, -ing, -ed, -ly, 's. A light stem: meaning is not merged."""
    if len(word) < 4 or word in _SHORT or word[0] == "#":
        return word
    for ending, least in (("ing", 6), ("edly", 7), ("ies", 5), ("ied", 5), ("ed", 5), ("ly", 6), ("es", 6), ("s", 4)):
        if word.endswith(ending) and len(word) >= least:
            if ending == "s" and word[-2] in "su":
                return word
            root = word[: -len(ending)]
            if ending in ("ies", "ied"):
                return root + "y"
            if ending == "es" and root[-1] not in "sxzh":
                return root if not root.endswith("e") else root[:-1]
            if ending in ("ing", "ed") and len(root) > 3 and root[-1] == root[-2] and root[-1] not in "ls":
                root = root[:-1]
            return root.rstrip("e") if len(root) > 3 else root
    return word.rstrip("e") if len(word) > 4 else word


@lru_cache(maxsize=20_000)
def letters(word: str) -> tuple[str, ...]:
    """Runs of 2 to 5 letters within `word`, its ends marked."""
    if word[0] == "#":
        return ()
    edged = f"<{word}>"
    return tuple({f"c:{edged[i:i + n]}" for n in (2, 3, 4, 5) for i in range(len(edged) - n + 1)})


def word_features(words: list[str]) -> list[str]:
    """Words, pairs and threes in a row, and pairs with one word between."""
    stems = ["^", *map(stem, words), "$"]
    found = [f"w:{s}" for s in stems[1:-1]]
    found += [f"b:{a}_{b}" for a, b in zip(stems, stems[1:], strict=False)]
    found += [f"t:{a}_{b}_{c}" for a, b, c in zip(stems, stems[1:], stems[2:], strict=False)]
    found += [f"s:{a}_{c}" for a, c in zip(stems[1:], stems[3:], strict=False)]
    return found


def letter_features(words: list[str]) -> list[str]:
    return [run for word in words for run in letters(word)]


@cache
def concept_tree() -> Tree:
    """The tree of all concepts, each phrase parted and stemmed just as a message is."""
    return build_tree({
        name: [tuple(map(stem, tokens(phrase))) for phrase in said] for name, said in classes().items()
    })


def concept_features(words: list[str]) -> list[str]:
    """Concepts, concepts next to each other, and pairs of concepts in any order."""
    names = [name for name, _, _ in find(list(map(stem, words)), concept_tree())]
    return [f"k:{name}" for name in names] + pairs(names)
