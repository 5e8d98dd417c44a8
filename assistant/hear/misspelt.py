"""Slips in the words that sums hang on, and sounds between words, before anything is read.

"Fitfy", "thre hundred", "7 hurs", "lnuch": a word that is no English one, one slip away from exactly one of the words
listed (knowledge/hearing_en.toml, misspelt). "Um", "ehm" and the like part no number from its unit. What greets first
and what thanks last hides no question: "Hi there, ... ta".
"""

from __future__ import annotations

import re
from functools import cache
from string import ascii_lowercase

from symspellpy import SymSpell, Verbosity

from assistant.language.concepts import short_forms
from assistant.language.spelling import english, said_often
from knowledge.library import table

SHORTEST = 4  # letters; shorter words have too many neighbours
LEAST = 3  # words that a message has without its greeting or thanks

_WORD = re.compile(r"(?<![\w'-])[A-Za-z]{4,}(?![\w'-])")


@cache
def _listed() -> frozenset[str]:
    return frozenset(table("hearing_en")["misspelt"]["words"].split())


@cache
def _speller() -> SymSpell:
    speller = SymSpell(max_dictionary_edit_distance=1, prefix_length=7)
    for word in _listed():
        speller.create_dictionary_entry(word, 1)
    return speller


@cache
def _pattern(name: str) -> re.Pattern[str]:
    return re.compile(table("hearing_en")["misspelt"][name], re.IGNORECASE)


def _mended(met: re.Match[str]) -> str:
    word = met.group().lower()
    if word in table("hearing_en")["misspelt"]["keep"].split():
        return met.group()
    if word in _listed() or word in english() or word in table("dialect_en")["words"] or word in short_forms():
        return met.group()
    near = [s.term for s in _speller().lookup(word, Verbosity.CLOSEST, max_edit_distance=1)]
    near = [one for one in near if len(one) > SHORTEST or sorted(one) == sorted(word)]  # "nite" is no nine
    if len({one.removesuffix("s") for one in near}) == 1:  # "minuts": of minute and minutes, the one that ends alike
        near = [one for one in near if one.endswith("s") == word.endswith("s")] or near
    if not near and len(word) > SHORTEST:
        near = [one for one in _twisted_back(word) if said_often(one)]
    if not near and len(word) > SHORTEST:
        near = [one for one in _filled_in(word) if said_often(one)]
    return near[0] if len(near) == 1 else met.group()


def _twisted_back(word: str) -> list[str]:
    """ "Agian", "refsued": the word with one pair of neighbours the other way round."""
    return list({word[:at] + word[at + 1] + word[at] + word[at + 2 :] for at in range(len(word) - 1)} - {word})


def _filled_in(word: str) -> list[str]:
    """ "Betwen", "formla": the word with one letter more, not at its beginning."""
    places = range(1, len(word) + 1)
    return list({word[:at] + letter + word[at:] for at in places for letter in ascii_lowercase})


def without_slips(text: str) -> str:
    """`text` with such slips mended and such sounds left out."""
    text = _pattern("sounds").sub(" ", text)
    text = _pattern("between_numbers").sub(r"\1 ", text)
    return re.sub(r"\s+", " ", _WORD.sub(_mended, text)).strip()


def without_manners(text: str) -> str:
    """`text` without a greeting before it and thanks after it, where something is left to be answered."""
    for name in ("greets", "thanks"):
        rest = _pattern(name).sub("", text).strip()
        if len(rest.split()) >= LEAST:
            text = rest
    return text
