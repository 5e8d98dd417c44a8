"""Plain tellings of a feed raise no suspicion; one word more, and they are heard as before."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from assistant.asked.question import decide
from assistant.danger.told_calmly import nothing_else
from assistant.dialogue import Talk
from assistant.hear import hear
from assistant.hear.plain import plain
from assistant.household.plan_file import care_plan
from assistant.household.plan_reader import plan_bytes, read_values
from assistant.night import Night
from assistant.triage import triage

ROOT = Path(__file__).parent.parent
NOW = datetime.datetime(2026, 11, 25, 2, 10, tzinfo=datetime.UTC)


def plan_of(name: str) -> Night:
    path = ROOT / "demo" / f"{name}.toml"
    return Night(care_plan(read_values(plan_bytes(path), path.name), path), NOW)


def calm(text: str, night: Night | None = None) -> bool:
    return nothing_else(plain(text), night or plan_of("adult_syringe"), lambda sentence: True)


TELLINGS = [
    "i gave 330 at breakfast",
    "he's had 300 at lunch",
    "gave her two hundred at lunch and it stayed down",
    "fed him 150 at noon",
    "gave K the breakfast one at 7, all 220 of it",
    "Given 200 mL of the supper feed at 18:00",
    "he gave the tea feed, 230 ml, at 5",
    "did the gravity feed at nine, 150 of the 200 went in, then a tiny amount came back up so I left it there",
    "I'm going to pause it at ten for her tablets, not yet",
    "kid make small vomit, I switch off the machine 10 minutes",
    "Feed was supposed to start at quarter to nine but Nana didn't get it on till ten",
]


@pytest.mark.parametrize("text", TELLINGS)
def test_a_plain_telling_is_known_as_one_and_raises_nothing(text: str) -> None:
    assert calm(text)
    assert not triage(plain(text), plan_of("adult_syringe"))


@pytest.mark.parametrize(
    "text",
    [
        "gave K the breakfast one at 7 and again at 8",
        "gave K the breakfast one at 7, all of it in five minutes",
        "gave K the breakfast feed at 7, five minutes",
        "gave him his sister's breakfast feed at 7",
        "gave K the breakfast feed at 7, then he went limp",
        "gave K the breakfast feed, 900 ml, at 7",
        "i gave 900 at breakfast",
        "gave her 300 in two minutes",
        "gave him 300 of the wrong one at lunch",
        "Dad gave the breakfast feed and I gave the breakfast feed",
        "Feed was meant to be 60 but went on at 600",
        "I'm going to stop it all at midnight",
        "I'm going to stop it at midnight",
        "he went off at one for 20 minutes",
        "he started at nine for five minutes",
        "gave all of it at 8",
        "did the feed at eight, a small bit came up and it was green",
    ],
)
def test_a_word_or_an_amount_more_and_it_is_not(text: str) -> None:
    assert not calm(text)


def test_a_telling_beside_what_is_not_harmless_changes_nothing() -> None:
    night = plan_of("adult_syringe")
    assert not nothing_else("Gave the lunch feed at 12. He is out of it.", night, lambda sentence: False)
    assert not nothing_else("Gave the lunch feed at 12. Then I gave it again.", night, lambda sentence: True)


@pytest.mark.parametrize("name", ["adult_syringe", "adult_jejunal_cycle"])
def test_a_mix_only_asked_about_where_no_powder_is_mixed(name: str) -> None:
    asked = "it's a hot day, how much water do I water his formula down with"
    done = "it's a hot day, we watered the baby's formula down with twice the water all week"
    assert "infant_mixing" not in [alarm.card for alarm in triage(plain(asked), plan_of(name))]
    assert "infant_mixing" in [alarm.card for alarm in triage(plain(done), plan_of(name))]


@pytest.mark.parametrize(
    "text",
    [
        "is it ok to put more powder in my neighbour's baby's bottle",
        "my cousin's newborn drinks 80 mL of bottle formula every 2 hours, should he be getting more",
    ],
)
def test_a_bottle_of_somebody_elses_baby_is_only_asked_about(text: str) -> None:
    assert not triage(plain(text), plan_of("adult_syringe"))


@pytest.mark.parametrize(
    ("text", "ours"),
    [
        ("our neighbour forgot two of her tablets, what should she do", False),
        ("my colleague's new baby has five bottles a day, is that enough", False),
        ("we forgot two of his tablets, what should we do", True),
    ],
)
def test_what_is_asked_for_others_is_declined(text: str, ours: bool) -> None:
    question = decide(plain(text), hear(plain(text)), Talk())
    assert (question.name != "out_of_scope") is ours
