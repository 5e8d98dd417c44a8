"""Slips are mended towards our own words; real English words are left alone."""

from __future__ import annotations

import pytest

from assistant.language.spelling import english, repair, repaired


@pytest.mark.parametrize(("slip", "word"), [
    ("breething", "breathing"), ("meddicine", "medicine"), ("oxigen", "oxygen"), ("vommiting", "vomiting"),
    ("mottld", "mottled"), ("pummp", "pump"),
])
def test_a_slip_is_mended(slip: str, word: str) -> None:
    assert repair(slip) == word


@pytest.mark.parametrize("word", ["paint", "heather", "gravel", "bread", "tub", "grape", "#rate", "?", "ok"])
def test_a_real_word_or_mark_is_left_alone(word: str) -> None:
    assert repair(word) == word


def test_mending_keeps_the_number_of_words() -> None:
    words = ["teh", "pummp", "is", "bepping"]
    assert len(repaired(words)) == len(words)


def test_the_english_list_is_there() -> None:
    assert "breathe" in english() and "spoon" in english()
