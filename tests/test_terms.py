"""A word of tube feeding is explained where its meaning is asked, and nowhere else; its numbers are the rules' own."""

from __future__ import annotations

import pytest
from conftest import DEMO

from assistant.asked.terms import TERM, term_asked
from assistant.hear import hear
from assistant.household.care_plan import read_plan
from assistant.night import Night
from assistant.paper.reading_grade import reading_grade
from assistant.session import Session, instant
from assistant.triage import triage
from knowledge.library import table
from rules.figures import feeding_set
from rules.quantity import number, qty

PLAN = read_plan(DEMO / "child_overnight_pump.toml")
NOW = instant("2026-11-26T02:20-04:00", PLAN)
WORDS = {  # as people write them; the word it is
    "what's a bolus": "terms.bolus", "what does venting mean": "terms.venting",
    "whats granulation tissue": "terms.granulation",
    "The letter says to watch for a residual. What does that word mean?": "terms.residual",
    "never heard of a drip chamber": "terms.drip_chamber", "what is a gj tube": "terms.gastrojejunal",
    "what do they mean by hang time": "terms.hang_time", "what is a jejunostomy": "terms.jejunostomy",
    "jejunal, what does that mean": "terms.jejunostomy", "what's gravity feeding": "terms.gravity",
    "what does NPO stand for": "terms.nil_by_mouth", "definition of dumping syndrome": "terms.dumping",
    "why do we bother flushing": "why.flush", "what's the point of squirting water down after": "why.flush",
    "why do i have to sit him up for it": "why.sit_up", "why must i throw it away after 4 hours": "why.throw_away",
    "why can't I just top it up": "why.not_top_up", "why do I need to wash my hands each time": "why.hands",
}
OTHERS = (
    "what's her bolus", "what is the priming volume", "how much is a flush", "whats the flush", "what is left",
    "why is the pump beeping", "why does the tube leak", "why is he so sick", "why", "what's the rate", "what is it",
    "why does the bag end at 5", "why is it 4 hours and not 6", "why did you say 7 o'clock", "what's his residual",
    "gave a bolus at 9",
    "the stoma is red", "what is a bolus of 200 over 20 minutes in mL an hour",
)


@pytest.mark.parametrize("text", WORDS)
def test_a_word_is_explained(text: str) -> None:
    assert term_asked(text, hear(text)) == TERM + WORDS[text]
    record = Session(PLAN, now=NOW).say(text, NOW)
    kind, name = WORDS[text].split(".")
    assert (record["intent"], record["outcome"], record["level"]) == ("explain", "answered", "none")
    assert table("terms_en")[kind][name]["text"] in record["text"] and table("terms_en")["note"] in record["text"]


@pytest.mark.parametrize("text", OTHERS)
def test_what_asks_something_else_is_none(text: str) -> None:
    assert term_asked(text, hear(text)) is None


@pytest.mark.parametrize("text", ["what's a bolus, he is choking", "why do we flush, she's not breathing"])
def test_danger_beside_it_is_heard_first(text: str) -> None:
    assert triage(text, Night(PLAN, NOW))
    assert Session(PLAN, now=NOW).say(text, NOW)["level"] == "emergency"


def test_every_word_is_plain_and_short() -> None:
    for kind in ("terms", "why"):
        for name, entry in table("terms_en")[kind].items():
            assert reading_grade(entry["text"]) <= 8, name  # the words themselves are long
            assert len(entry["speech"].split()) <= 20, name


def test_its_numbers_are_those_of_the_rules() -> None:
    """French: ISO 20695 counts 3 to a millimetre (from memory); a set's hours are the published figure's."""
    terms, why = table("terms_en")["terms"], table("terms_en")["why"]
    assert "3 French is 1 mm" in terms["french"]["text"] and number(qty(12, "Fr").to("mm"), "mm") == 4
    assert f"{number(feeding_set(NOW.date()).value, 'h'):f} hours" in why["change_set"]["text"]
