"""The reading grade against examples whose counts are published, and against a dictionary's syllables."""

from __future__ import annotations

import pytest

from assistant.paper.reading_grade import reading_grade, sentences, syllables, words

# Examples given with their counts in the general encyclopaedia article on the Flesch-Kincaid tests (from memory).
PUBLISHED = [
    ("The cat sat on the mat.", 6, 6, -1.45),
    ("The Australian platypus is seemingly a hybrid of a mammal and reptilian creature.", 13, 24, 11.3),
]

# Syllable breaks as dictionaries print them (from memory).
SYLLABLES = {
    "stop": 1, "tube": 1, "feed": 1, "call": 1, "breathe": 1, "stopped": 1, "clothes": 1, "two": 1, "pain": 1,
    "blood": 1, "cough": 1, "through": 1, "eyes": 1, "tubes": 1, "changed": 1, "now": 1, "skin": 1,
    "belly": 2, "sugar": 2, "doses": 2, "wanted": 2, "table": 2, "bottle": 2, "seeing": 2, "body": 2, "fever": 2,
    "person": 2, "being": 2, "fluid": 2, "breathing": 2, "swallow": 2, "awake": 2, "hospital": 3,
    "number": 2, "bottles": 2, "water": 2, "dressing": 2, "vomit": 2,
    "medicine": 3, "formula": 3, "insulin": 3, "battery": 3, "banana": 3, "supplier": 3,
    "emergency": 4, "dehydration": 4, "january": 4,
    "university": 5, "refrigerator": 5,
}


@pytest.mark.parametrize(("text", "word_count", "syllable_count", "grade"), PUBLISHED)
def test_grade_agrees_with_a_published_example(text: str, word_count: int, syllable_count: int, grade: float) -> None:
    assert len(words(text)) == word_count
    assert sum(map(syllables, words(text))) == syllable_count
    assert reading_grade(text) == pytest.approx(grade, abs=0.05)


def test_grade_is_the_formula_counted_by_hand() -> None:
    # 2 sentences, 7 words, 8 syllables: 0.39 x 7/2 + 11.8 x 8/7 - 15.59
    text = "Stop the feed. Sit the person up."
    assert len(sentences(text)) == 2
    assert reading_grade(text) == pytest.approx(0.39 * 3.5 + 11.8 * 8 / 7 - 15.59)


@pytest.mark.parametrize(("word", "count"), sorted(SYLLABLES.items()))
def test_syllables_are_those_of_the_dictionary(word: str, count: int) -> None:
    assert syllables(word) == count
    assert syllables(word.upper()) == count


def test_a_number_counts_as_its_digits_are_said() -> None:
    assert syllables("911") == 3
    assert syllables("70") == 4


def test_longer_sentences_and_longer_words_grade_higher() -> None:
    short = "Stop the feed. Call the nurse. Keep the bag."
    joined = "Stop the feed and call the nurse and keep the bag."
    harder = "Discontinue the administration. Telephone the professional. Preserve the container."
    assert reading_grade(short) < reading_grade(joined) < reading_grade(harder)


@pytest.mark.parametrize("text", ["", "   ", "...", "?!"])
def test_nothing_to_read_has_no_grade(text: str) -> None:
    with pytest.raises(ValueError, match="no words"):
        reading_grade(text)
