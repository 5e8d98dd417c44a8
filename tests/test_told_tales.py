"""Tales, old fevers, coins for a meter and a healthy pump's noises are no alarm; what is wrong here always is."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from assistant.hear.plain import plain
from assistant.household.plan_file import care_plan
from assistant.household.plan_reader import plan_bytes, read_values
from assistant.night import Night
from assistant.triage import triage

DEMO = Path(__file__).parent.parent / "demo" / "adult_syringe.toml"
NOW = datetime.datetime(2026, 11, 25, 2, 10, tzinfo=datetime.UTC)
HOME = Night(care_plan(read_values(plan_bytes(DEMO), DEMO.name), DEMO), NOW)

CALM = (
    "the audiobook is nearly done and a gladiator has been stabbed. When's the next feed?",  # tales
    "chapter six, the villain is stabbed and bleeds to death. when's the next flush",
    "the novel's at the scene where a lodger is found dead. what rate tonight",
    "whodunnit, cook put arsenic in the trifle. how much protein in a day",
    "five little monkeys fell off the bed again, that song on repeat. when's the next feed",
    "in the panto the wicked stepmother is choked by a dragon. how long does lunch take",
    "Temp hit 38.4 for a night after his jabs three weeks ago, normal ever since. how much is lunch",  # long over
    "temp was 39 and a bit last month with that cold, this evening it's 36.7. when's the next feed",
    "100.9 the week before last, 98.4 every morning since. how much is the lunch feed",
    "her nephew choked on a grape as a toddler, he's a firefighter now",
    "aunty's boy swallowed a marble last Diwali, came out third day, he is in class two now",
    "Cousin Ted passed out at the christening, too much beer. That was July",
    "the machine hums while it turns, always has, and every feed is through by the hour it should be",  # a healthy pump
    "soft clicking off the pump, same as every night, no alarm. that's how they sound, right",
    "just for interest, what are the black lines round a nose tube for",  # asked to know it
    "what's printed down the side of a nasal tube, is it the length?",
    "what do I do if his button pops out? nothing's happened, just want to be ready",
    "put thirty quid in the meter. how long will 400 last",
    "chess club thrashed us 5 nil. when does tonight's one end",
    "all 180 of lunch in, when's he next fed",
)
STILL = (
    "We were listening to the audiobook and he's stopped breathing",
    "podcast on in the kitchen, wife put bleach in his flush by mistake",
    "just like in the podcast, my wife put bleach in his squash and he drank it",
    "sang humpty dumpty and he fell off the wall, bang on his head, not waking",
    "rehearsing the school play he fell off the stage and hit his head, been sick twice since",
    "the audiobook's playing and he's going blue round the mouth",
    "the panto was on and he choked on a sweet, still can't breathe",
    "temp of 38.4 a fortnight ago, 36.7 after, and now it's 39.1",
    "temp of 38.4 a fortnight ago, 36.7 since, but he's burning up tonight",
    "temp of 38.9 this evening, was 36.7 a fortnight ago",
    "temp of 38.1 since the flu jab a fortnight ago",
    "choked on a grape at two, he's nine now and he's choking on one",
    "he was blue when he was born, he's on the trampoline now and he's gone blue",
    "Cousin Ted passed out at the christening. That was July. Now dad has passed out",
    "it's clicked every few secs since we got it but tonight it's gone dead, won't turn on",
    "Pump makes a soft whirr like always but the bag's still full after 4 hours",
    "out of interest what do i do, nose tube's half out",
    "what are those numbers on the nose tube, it's slid out to 30",
    "what to do, his button's come out, nothing's happened yet but it's closing",
    "what do we do when his button comes out, it's half out now",
    "meter says 20",
    "they thrashed us 5 nil, and now he's thrashing about, eyes rolled back",
    "all 600 of lunch in, when's he next fed",
    "all 180 of lunch in again, when's he next fed",
    "put 20 in the meter, he's shaky and sweating",
)


@pytest.mark.parametrize("text", CALM)
def test_what_is_told_of_elsewhere_is_no_alarm(text: str) -> None:
    assert not triage(plain(text), HOME)


@pytest.mark.parametrize("text", STILL)
def test_what_is_wrong_here_is_heard(text: str) -> None:
    assert triage(plain(text), HOME)
