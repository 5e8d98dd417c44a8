"""A danger named outright beside everyday things, hedges and worries: nothing said beside it takes it away."""

from __future__ import annotations

import pytest
from test_triage import NOBODY, PLAIN_SIGNS, cards

from assistant.danger.signs import _phrases, vocabularies
from assistant.hear.plain import plain
from assistant.triage import triage

BESIDE = (  # everyday things said in the same breath: another's, past, planned, of a pet, or a sum
    "the neighbour is here and {}",
    "we were watching telly and {}",
    "he was fine till lunch, now {}",
    "{}, the dog is barking",
    "How long does 360 mL last at 72 mL/h and also {}",
    "what rate for 500 in 8 hours, {}",
    "{} and the phone in the kitchen is broken",
    "on Monday the nurse comes but {}",
    "my sister said {}",
    "{}, I read about this in the leaflet",
    "cake in the oven and {}",
    "the appointment is next week, {} though",
)


@pytest.mark.parametrize("beside", BESIDE)
def test_a_plain_danger_stands_beside_everyday_things(beside: str) -> None:
    signs = [text for texts in PLAIN_SIGNS.values() for text in texts if text != "HELP"]  # a cry is a whole message
    assert not [said for text in signs if not triage(plain(said := beside.format(text)), NOBODY)]


SMALL = {"i", "he", "she", "it", "they", "we", "you", "when", "to", "feel", "happy", "and", "worri", "about", "in"}


@pytest.mark.parametrize("frame", ["resolved", "past", "asking", "story", "animal"])
def test_dropped_words_leave_no_frame_that_everybody_says(frame: str) -> None:
    """ "I feel well" without its dropped word was "I feel", and took every "I feel ..." for over."""
    left = [(line, p) for line in vocabularies()[frame]["say"] for p in _phrases(line) if len(p) > 1]
    assert left and not [line for line, phrase in left if set(phrase) <= SMALL]


@pytest.mark.parametrize(
    "hedged",
    [
        "sorry if it's silly, but {}",
        "{}, might just be the heat",
        "{}, though my sister reckons I'm overreacting",
        "{}. Most likely nothing",
        "{}, or am I seeing things",
        "{} but she insists she is fine",
        "{}, could only be the lamp",
    ],
)
def test_a_hedge_takes_no_plain_danger_away(hedged: str) -> None:
    signs = [text for texts in PLAIN_SIGNS.values() for text in texts if text != "HELP"]  # a cry is a whole message
    assert not [said for text in signs if not triage(plain(said := hedged.format(text)), NOBODY)]


def test_a_worry_without_a_sign_gives_way_to_a_card_that_names_one() -> None:
    assert cards("I feel odd and rough tonight") == ["unwell"]
    assert "unwell" not in cards("I feel odd and my lips are blue")
