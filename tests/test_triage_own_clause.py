"""A danger told of a person in a clause of its own is heard whatever stands in the clause beside it."""

from __future__ import annotations

import datetime

import pytest

from assistant.hear.plain import plain
from assistant.night import Night
from assistant.triage import triage

NOBODY = Night(None, datetime.datetime(2026, 11, 25, 2, 10, tzinfo=datetime.UTC))

DANGERS = {
    "she's not breathing": "cant_breathe",
    "his lips have gone blue": "blue_lips",
    "he has gone floppy and won't wake up": "unresponsive",
    "she's choking": "choking",
    "the cord is round her neck": "cord_neck",
    "she swallowed a battery": "button_battery",
}
BESIDE = (  # an animal, a doing, a thing with the same words, a sum, none of them a danger
    "the cat jumped on the bed and {}",
    "the dog was barking and {}",
    "i was rinsing the syringes, {}",
    "set the rate to 85 and {}",
    "i was on the laptop and {}",
    "{} and the pump is beeping",
    "{} how much is left in the bag",
    "{} the ambulance was here last week for the same",
)
TAKEN_AWAY = (
    "the dog ate a sock and he's choking",  # something is wrong with the animal
    "our old cat was at the vet and she's not breathing well",
    "in the film he went blue and stopped breathing",
    "last year he had a seizure and he was in hospital",
    "he choked on his spit and he's fine now",
    "he had a seizure in March, they changed his meds, none since",
    "the tube came out on Tuesday, the nurse put a new one in, all good",
    "we thought she was choking, it was hiccups",
    "she bled a bit when they changed the button, stopped straight away",
    "he pulled at the tube but it is still in, mark is the same",
)


@pytest.mark.parametrize("beside", BESIDE)
def test_danger_is_heard_beside_anything(beside: str) -> None:
    heard = {danger: {a.card for a in triage(plain(beside.format(danger)), NOBODY)} for danger in DANGERS}
    assert [danger for danger, card in DANGERS.items() if card not in heard[danger]] == []


PLAINLY = (
    "he's choking", "her lips are blue", "she's gone limp", "he is fitting", "dad has collapsed", "he's vomiting blood",
    "the tube has come out", "his tongue is swelling",
)
OF_ANOTHER_THING = (  # in a sentence of its own, after or before, with or without a stop mark
    "{}. last week he was grand", "{}. she was fine an hour ago", "{}. the pump is fine", "{}, his sister is giggling",
    "{} and everything else is normal", "{}. no sign of a rash", "{}. he ate a biscuit last Christmas",
    "we changed the button in March {}", "it was his birthday on Saturday {}", "the fridge broke last week, {}",
    "he was laughing a minute ago {}", "what rate should it be at, {}", "the dog is asleep {}",
)


@pytest.mark.parametrize("beside", OF_ANOTHER_THING)
def test_danger_is_heard_beside_what_was_or_is_well(beside: str) -> None:
    assert [danger for danger in PLAINLY if not triage(plain(beside.format(danger)), NOBODY)] == []


@pytest.mark.parametrize("said", TAKEN_AWAY)
def test_what_the_words_take_away_stays_away(said: str) -> None:
    assert not triage(plain(said), NOBODY)


@pytest.mark.parametrize(
    "said", ("just had a fit in the car", "he had another fit in the trolley", "took a fit on the bus")
)
def test_a_fit_in_a_place_is_no_thing_that_fits(said: str) -> None:
    assert [a.card for a in triage(plain(said), NOBODY)] == ["seizure"]


def test_of_two_clauses_the_worse_danger_is_said_first() -> None:
    said = "he's vomiting green. her lips are blue. last week they were grand. the pump is fine"
    levels = [alarm.level for alarm in triage(plain(said), NOBODY)]
    assert len(levels) == 2
    assert levels == sorted(levels, key=("emergency", "urgent").index)
