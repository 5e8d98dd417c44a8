"""Spelling repair towards the words of the danger vocabularies; real English words are left alone."""

from __future__ import annotations

import re
from functools import cache, lru_cache

from symspellpy import SymSpell, Verbosity

from assistant.language.spelling import english
from knowledge.library import load

SHORT = 6  # words up to this length are repaired by one letter, longer ones by two


@cache
def _vocabulary() -> SymSpell:
    """The words of every sign, once each."""
    known = SymSpell(max_dictionary_edit_distance=2, prefix_length=7)
    words: set[str] = set()
    for name, file in load("signs").items():
        for key, concept in file.items():
            if name != "words" and key != "rule":
                words.update(re.findall(r"[a-z]{4,}", " ".join(concept.get("say", ())).lower()))
    for word in sorted(filter(english().__contains__, words)):  # a misspelling listed as a word is no target
        known.create_dictionary_entry(word, 1)
    return known


@lru_cache(maxsize=20000)
def repaired(word: str) -> str:
    """`word`, or the nearest word of the vocabularies when it is no English word."""
    if word in english() or not word.isalpha() or len(word) > 24:
        return word
    if word in _listed():
        return word
    found = _vocabulary().lookup(word, Verbosity.TOP, max_edit_distance=1 if len(word) <= SHORT else 2)
    return found[0].term if found and found[0].term[0] == word[0] else word


@cache
def _listed() -> frozenset[str]:
    words: set[str] = set()
    for file in load("signs").values():
        for key, concept in file.items():
            if key != "rule" and hasattr(concept, "get"):
                words.update(re.findall(r"[a-z']+", " ".join(concept.get("say", ())).lower()))
    words.update(w for others in load("signs")["words"]["same"].values() for w in others)
    return frozenset(words)
