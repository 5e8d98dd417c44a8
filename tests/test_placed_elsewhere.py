"""Toys, shows, births long past, bills and the weather are no alarm; a plain sign beside them always is one."""

from __future__ import annotations

import pytest
from test_triage import NOBODY

from assistant.clauses.asides import without_asides
from assistant.hear.plain import plain
from assistant.triage import triage

CALM = (
    "he's playing vets with his bear, bear has no heartbeat and its leg is off, poor bear",  # a toy in a game
    "her doll's got a fever of 104, she tells me",
    "police drama on, somebody's been shot in the bank again. he's asleep and pink",  # a show
    "saw in the paper a man walked into the sea in Kerry, awful",
    "he was blue at the birth when he was born, cord round the neck and all, and he's captain of the team now",
    "she'd sepsis after the first operation, three years back, and she's strong as an ox now",
    "had a seizure as a newborn, hasn't had one since, off to big school Monday",
    "sugar dropped once in the spring, they cut his insulin, not one since. 7.1 now",
    "there's no blood, it was raspberry jelly on the towel",  # denied, with what it was
    "toaster tripped the electrics, just the kitchen, the pump is upstairs and fine",  # the household
    "cut the gas bill by turning the hall lamp off",
    "that quote near gave me a stroke",
    "my eyes are hanging out of my head",
    "boiling in here today, 34 in the flat, fan on and she's in her vest",  # a room, not a person
    "did anybody give gran her pills or shall I look at the pill box",
    "what length of it hangs out",
    "and if she has just four hundred",
    "when did I last write down that he had a seizure",
    "I really appreciate your help",
    "on the hospital drama a lad had his tube yanked and he went blue, what nonsense",
    "on the telly a woman fainted and she stopped breathing, then the adverts came on",
)
STILL = (
    "on telly tonight a woman collapsed and my son went blue",
    "on the telly a man choked and he's gone blue now",
    "she's playing with her teddy and she's gone blue round the mouth",
    "his bear is stuck in his mouth and he can't breathe",
    "police drama on, dad has collapsed on the sofa",
    "saw in the paper a man walked into the sea. I want to do that too",
    "he was blue when he was born and he is blue now",
    "had a seizure as a newborn, having one now",
    "gasping for air, he was born with a bad heart, two years back they fixed it",
    "sugar dropped once in the spring and he's shaking and sweating now, sugar 2.8",
    "it's not ketchup it's blood all over the bed",
    "toaster tripped the electrics and there's smoke coming from the socket",
    "the bill gave me a shock and I've crushing chest pain",
    "boiling in here and he's confused, burning to touch, 39.6",
    "has anyone given gran her pills, she's had the whole packet",
    "how much hangs out, it slipped 10 cm",
    "when did I last log a seizure because he is fitting again",
    "I'd appreciate help, he's not breathing",
    "don't wake me, I took all the tablets",
)


@pytest.mark.parametrize("text", CALM)
def test_what_is_placed_elsewhere_is_no_alarm(text: str) -> None:
    assert not triage(plain(text), NOBODY)


@pytest.mark.parametrize("text", STILL)
def test_a_plain_sign_beside_it_is_heard(text: str) -> None:
    assert triage(plain(text), NOBODY)


@pytest.mark.parametrize(
    ("text", "asked"),
    [
        ("Won fifty quid on the dogs. How many cartons for 900 a day?", "How many cartons for 900 a day?"),
        ("No fever, skin dry, tube at the seven. how long is 500 at 50", "how long is 500 at 50"),
        ("the strimmer is stuck again. what time do I start the feed", "what time do I start the feed"),
    ],
)
def test_a_story_is_set_aside_before_the_question(text: str, asked: str) -> None:
    assert without_asides(plain(text))[0].strip() == asked


@pytest.mark.parametrize(
    "text",
    [
        "She manages 80 at most. how long for 400?",  # a limit stays
        "Our policy is twelve hours once spiked. Spiked at 19:35, discard?",
        "260 left. no wait 206. done when?",
        "my friend makes jam with 500 g of sugar. how long does it keep",  # "it" is the jam
    ],
)
def test_what_belongs_to_the_question_stays(text: str) -> None:
    assert without_asides(plain(text))[0] == plain(text)


@pytest.mark.parametrize(("text", "card"), [
    ("we did a first aid class and now she is not breathing", "cant_breathe"),
    ("she was watching a film and now she is not breathing", "cant_breathe"),
    ("the dog ate a sock and now he is choking", None),
    ("in the film he was shot and now he is bleeding out", None),
])
def test_what_is_now_is_heard_whatever_came_before_it_but_of_no_animal_or_film(text: str, card: str | None) -> None:
    found = {alarm.card for alarm in triage(plain(text), NOBODY)}
    assert (card in found) if card else not found
