"""Concepts are found by a tree of stems; spaCy's PhraseMatcher, given the same phrases, must find the same."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest

from assistant.language.concepts import classes, find
from assistant.language.features import concept_names, concept_tree, stem, take_apart, tokens
from assistant.language.numbers import number_classes

PHRASES = Path(__file__).resolve().parents[1] / "knowledge" / "phrases"


def some_messages(count: int) -> list[str]:
    lines = [line for path in sorted(PHRASES.glob("[a-z].jsonl")) for line in path.read_text("utf-8").splitlines()]
    return [json.loads(line)["text"] for line in random.Random(4).sample(lines, count)]


def test_the_tree_finds_what_the_phrase_matcher_finds() -> None:
    spacy = pytest.importorskip("spacy")
    from spacy.matcher import PhraseMatcher
    from spacy.tokens import Doc

    vocab = spacy.blank("en").vocab
    matcher = PhraseMatcher(vocab, attr="ORTH")
    for name, said in classes().items():
        matcher.add(name, [Doc(vocab, words=[stem(word) for word in tokens(phrase)]) for phrase in said])
    for text in some_messages(600):
        stems = take_apart(text).stems
        if not stems:
            continue
        longest: dict[tuple[str, int], int] = {}
        for key, start, end in matcher(Doc(vocab, words=stems)):
            name = vocab.strings[key]
            longest[name, start] = max(end, longest.get((name, start), 0))
        assert sorted(find(stems, concept_tree())) == sorted((n, s, e) for (n, s), e in longest.items())


def test_every_phrase_of_a_concept_is_found_as_that_concept() -> None:
    for name, said in classes().items():
        for phrase in said:
            stems = [stem(word) for word in tokens(phrase)]
            assert name in concept_names(stems, find(stems, concept_tree())), (name, phrase)


@pytest.mark.parametrize(("said", "heard"), [
    ("run 75 ml an hour", "#rate"), ("300ml left", "#volume"), ("at 9pm", "#clock"), ("put it up 20:15", "#clock"),
    ("1.5 kcal/ml", "#strength"), ("temp 38.6", "#heat"), ("20 drops a minute", "#drops"), ("sats 84%", "#percent"),
    ("two hundred and forty", "#spoken"), ("seventy five mls an hour", "#rate"), ("14 kg", "#weight"),
])
def test_numbers_become_the_class_of_what_they_count(said: str, heard: str) -> None:
    assert heard in number_classes(said).split()


def test_one_is_left_a_word() -> None:
    assert number_classes("no one is here") == "no one is here"
