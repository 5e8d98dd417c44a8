"""Any words at all, and sign words in any order: the danger station answers, and answers the same twice."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from test_triage import NOBODY

from assistant.hear.plain import plain
from assistant.triage import triage


@settings(max_examples=150, deadline=None)
@given(st.text(max_size=300))
def test_no_words_are_too_odd(text: str) -> None:
    triage(plain(text), NOBODY)


SIGN_WORDS = [
    "no",
    "not",
    "he",
    "she",
    "blue",
    "lips",
    "tube",
    "out",
    "can't",
    "breathe",
    ".",
    ",",
    "?",
    "what",
    "if",
    "the",
    "dog",
    "insulin",
    "38.5",
    "LO",
    "fell",
    "and",
    "now",
    "stopped",
    "again",
]


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(SIGN_WORDS), max_size=30))
def test_any_order_of_sign_words_is_answered_the_same_twice(words: list[str]) -> None:
    text = " ".join(words)
    assert triage(text, NOBODY) == triage(text, NOBODY)
