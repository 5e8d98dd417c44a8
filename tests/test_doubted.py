"""A worry that names no sign is asked about first, with the nurse line's number; calm talk in the same words is not."""

from __future__ import annotations

import datetime

import pytest
from conftest import DEMO

from assistant.danger.doubted import doubts
from assistant.hear.plain import plain
from assistant.household.care_plan import read_plan
from assistant.night import Night
from assistant.session import Session
from assistant.triage import triage

NOW = datetime.datetime(2026, 11, 25, 2, 10, tzinfo=datetime.UTC)
NOBODY = Night(None, NOW)

VAGUE = (
    "his tummy's not right today",  # a part, and a word of doubt
    "something's off with her legs tonight",
    "my belly's giving me bother",
    "he's walking funny since lunch",  # how somebody behaves
    "she's gone all quiet on me",
    "dad's come over all peculiar",
    "he's sitting all hunched up",
    "wobblier than he was this morning",  # more, or less, than there used to be
    "legs like jelly this morning",
    "sort of heavy across here",  # where it is, without a name for it
    "glassy eyes, and he only wants to lie on me",
    "made a weird gurgle as the feed went in",
    "woke to a soaked pillow, no idea why",  # what is wet, and from where
    "bit of pinkish stuff on his dressing",  # a fluid of doubtful colour
    "is that bile or just formula",
    "more tube showing, I think",
    "heart fluttering, could be the coffee",
    "can somebody say if this is normal",  # nothing named at all
    "I'm worried about him and I don't know why",
    "he isn't how he was yesterday",
    "she is awfully quiet, and it is bothering me",
)
CALM = (
    "can you speak slower, she writes it down",
    "the voice sounds funny on the app",
    "is it colder than yesterday or is it just me",
    "his bike is off, the head came loose",
    "pale yellow for the bedroom, he says",
    "the line looks different in the picture",
    "my heart was racing because of the match",
    "her blanket is wet from the washing line",
    "greenish paint on the shed wall",
    "out of puff after the stairs",
    "who is first on the list to ring",
    "he is not unwell, the form asks",
    "note that his temperature is normal",
    "cheeks hot from the stove, in the kitchen all day",
    "the pump is quieter than usual",
    "that's right",
)


@pytest.mark.parametrize("text", VAGUE)
def test_a_vague_worry_is_heard(text: str) -> None:
    assert triage(plain(text), NOBODY) or doubts(plain(text), NOBODY)


@pytest.mark.parametrize("text", CALM)
def test_calm_talk_in_the_same_words_is_not_asked_about(text: str) -> None:
    assert not doubts(plain(text), NOBODY)


def test_what_is_asked_comes_first_and_says_whom_to_call() -> None:
    plan = read_plan(DEMO / "child_overnight_pump.toml")
    session = Session(plan)
    asked = session.say("his tummy is just not right somehow", NOW)
    assert (asked["outcome"], asked["level"]) == ("asked_back", "urgent")
    assert plan.contacts.nurse_line in asked["text"] and plan.contacts.emergency in asked["text"]
    named = session.say("1", NOW)  # the first of the cards that were offered
    assert (named["intent"], named["card"]) == ("caution", "belly_hard")


def test_a_worry_about_the_plan_s_own_person_by_name() -> None:
    plan = read_plan(DEMO / "child_overnight_pump.toml")
    record = Session(plan, now=NOW).say("Juniper isn't how she was yesterday", NOW)
    assert record["outcome"] == "asked_back" and "902-555-0117" in record["text"]


def test_a_sum_in_the_same_message_follows() -> None:
    plan = read_plan(DEMO / "child_overnight_pump.toml")
    both = Session(plan).say("she's gone all quiet on me. how long does 300 mL last at 60 mL/h", NOW)
    assert both["level"] == "urgent"
    assert [a["figures"]["duration"]["value"] for a in both["also"]] == [5]  # 300 / 60 = 5


def test_a_wet_sheet_is_of_the_sugar_only_with_insulin() -> None:
    assert "low_sugar" in doubts("the sheet is soaked this morning", NOBODY)  # no plan: it may be
    child = read_plan(DEMO / "child_overnight_pump.toml")
    assert "insulin" not in child.person.notes
    assert "low_sugar" not in doubts("the sheet is soaked this morning", Night(child, NOW))
