"""Spelling repair: a word that is neither English nor ours becomes the nearest word of our own vocabulary."""

from __future__ import annotations

from functools import cache, lru_cache
from importlib import resources

from symspellpy import SymSpell, Verbosity

from assistant.language.concepts import classes, short_forms
from assistant.language.names import Names

VOCABULARY = "vocabulary.txt"
SHORTEST = 4        # shorter words have too many neighbours
AT_HOME = 4         # lines of ours that hold a familiar word
OFTEN = 10          # lines of ours that hold a word that a twisted one is mended to
LONG = 8            # from this length on, two slips are mended; below, one


@cache
def english() -> Names:
    """Real English words, which are never repaired: symspellpy's own list."""
    path = resources.files("symspellpy").joinpath("frequency_dictionary_en_82_765.txt")
    with path.open(encoding="utf-8-sig") as listed:
        return Names(line.partition(" ")[0] for line in listed)


@cache
def _listed() -> list[tuple[str, int, int]]:
    """The frozen vocabulary: a word, the lines that hold it, and those of them that ask something of ours."""
    text = resources.files("knowledge").joinpath("weights", VOCABULARY).read_text(encoding="utf-8")
    parted = (line.split("\t") for line in text.splitlines())
    return [(word, int(lines), int(ours)) for word, lines, ours in parted]


@cache
def familiar() -> frozenset[str]:
    """Words that are at home in talk of feeding; a message full of others is likely about something else."""
    return frozenset(word for word, _, ours in _listed() if ours >= AT_HOME)


@cache
def _often() -> frozenset[str]:
    return frozenset(word for word, lines, _ in _listed() if lines >= OFTEN)


def said_often(word: str) -> bool:
    """Is it a word that many of our lines have?"""
    return word in _often()


@cache
def _own_words() -> dict[str, int]:
    """Our vocabulary with how often each word is said: the frozen list, and every word of a concept."""
    own = {word: lines for word, lines, _ in _listed()}
    for said in classes().values():
        for phrase in said:
            for word in phrase.replace("'", "").split():
                if word.isalpha() and len(word) >= SHORTEST:
                    own.setdefault(word, 1)
    return own


@cache
def _speller() -> SymSpell:
    speller = SymSpell(max_dictionary_edit_distance=2, prefix_length=7)
    for word, count in _own_words().items():
        if len(word) >= SHORTEST:
            speller.create_dictionary_entry(word, count)
    return speller


@lru_cache(maxsize=20_000)
def repair(word: str) -> str:
    """`word`, or the word of our vocabulary that it most likely is a slip of."""
    if len(word) < SHORTEST or not word.isascii() or not word.isalpha():
        return word
    if word in _own_words() or word in english() or word in short_forms():
        return word
    slips = 2 if len(word) >= LONG else 1
    nearest = _speller().lookup(word, Verbosity.TOP, max_edit_distance=slips)
    return str(nearest[0].term) if nearest else word


def repaired(words: list[str]) -> list[str]:
    """`words` with each misspelling mended."""
    return [repair(word) for word in words]
