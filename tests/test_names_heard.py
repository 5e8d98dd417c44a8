"""Names that are words of their own are heard as people (names from memory; common practice, no source)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from assistant.danger.here_and_now import as_somebody
from assistant.hear.plain import plain
from assistant.household.care_plan import Person, read_plan
from assistant.night import Night
from assistant.triage import triage

DEMO = Path(__file__).parent.parent / "demo"
NOBODY = Night(None, datetime(2026, 11, 26, 3, tzinfo=UTC))
NAMES = (
    "Sue", "Bill", "Grant", "Penny", "Lily", "Violet", "Olive", "Scarlett", "Rose", "Dawn", "Ivy", "Holly", "Joy",
    "Hope", "Grace", "Teddy", "Rusty", "Bunny", "Princess", "River", "Rain", "Sunny", "Clay", "Robin", "Wren", "Pip",
    "King", "Stone", "Chip", "Roman", "Amber", "Ruby", "Jade", "Summer", "Mark", "Will", "Pat", "Ray", "Max", "Olivia",
    "Tomasz",
)
DANGERS = {
    "blue_lips": "{} is turning blue", "cant_breathe": "{} can't breathe", "seizure": "{} is having a fit",
    "unresponsive": "{} won't wake up", "tube_out": "{}'s tube has come out",
}


@pytest.mark.parametrize("danger", DANGERS)
@pytest.mark.parametrize("name", NAMES)
def test_a_danger_is_heard_whatever_the_name(name: str, danger: str) -> None:
    for text in (DANGERS[danger].format(name), DANGERS[danger].format(name.lower())):
        assert any(alarm.card.startswith(danger) for alarm in triage(plain(text), NOBODY)), text


def test_the_plan_s_own_person_is_one_whatever_the_nickname() -> None:
    plan = replace(read_plan(DEMO / "child_overnight_pump.toml"), person=Person(nickname="Puppy"))
    assert not triage("Puppy is having a fit", NOBODY)
    assert triage("Puppy is having a fit", replace(NOBODY, plan=plan))


@pytest.mark.parametrize("text", [
    "the bill is turning up late", "a new grant has come out", "her teddy is blue",
    "every penny is gone, how long do 12 cartons last",
])
def test_a_thing_with_a_word_before_it_stays_a_thing(text: str) -> None:
    assert as_somebody(text, None) == text
    assert not triage(plain(text), NOBODY)
