"""What a message places elsewhere is set aside before danger is listened for, and nothing else is."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from assistant.danger.here_and_now import here_and_now, told
from assistant.hear.plain import plain
from assistant.household.plan_file import care_plan
from assistant.household.plan_reader import plan_bytes, read_values
from assistant.night import Night
from assistant.triage import triage

ROOT = Path(__file__).parent.parent
NOBODY = Night(None, datetime.datetime(2026, 11, 25, 2, 10, tzinfo=datetime.UTC))


def left(text: str) -> str:
    return here_and_now(text, lambda clause: True)


@pytest.mark.parametrize(
    ("said", "kept"),
    [
        ("Two summers ago she stopped breathing, what time is lunch", "what time is lunch"),
        ("in the film a man had a stroke, when does it end", "when does it end"),
        ("I thought the tube was out. It isn't. Mark at 20", "It isn't. Mark at 20"),
        ("nearly hung the wrong carton, how much is left", "how much is left"),
        ("tell me the rate", "tell me the rate"),
    ],
)
def test_what_is_placed_elsewhere_is_set_aside(said: str, kept: str) -> None:
    assert left(said).strip() == kept


@pytest.mark.parametrize(
    "said",
    [
        "last summer he had a fit and he is having one now",
        "we were watching the film on the telly when he choked",
        "he went grey watching the news on the telly",
        "she looks like the corpse in that film",
    ],
)
def test_what_is_here_and_now_stays(said: str) -> None:
    assert left(said) == said


def test_a_clause_that_raises_no_alarm_keeps_what_it_tells() -> None:
    said = "the tube was placed two months ago and it fell out"
    assert here_and_now(said, lambda clause: "fell" in clause) == said


@pytest.mark.parametrize(
    "said",
    [
        "I thought he was only asleep. He isn't. I can't wake him",
        "two years ago he had a stroke and his face has dropped again",
        "I nearly hit him, I was about to put the pillow over his face",
        "I'm gasping for a coffee and she can't breathe",
        "that was my best one, and now he has gone blue",
    ],
)
def test_a_danger_beside_it_is_heard(said: str) -> None:
    assert triage(plain(said), NOBODY)


@pytest.mark.parametrize("said", ["no, six minutes before", "hang on, start at nine", "will the powder do till Friday"])
def test_words_of_sums_and_clocks_alone_raise_nothing(said: str) -> None:
    assert not triage(plain(said), NOBODY)


def of_the_demo(name: str) -> Night:
    path = ROOT / "demo" / f"{name}.toml"
    return Night(care_plan(read_values(plan_bytes(path), path.name), path), NOBODY.now)


@pytest.mark.parametrize("said", ["pump's been running at 70", "it is actually running at 66, not 72", "it was on 80"])
def test_a_rate_near_the_ordered_one_is_no_alarm(said: str) -> None:
    assert triage(plain(said), of_the_demo("child_overnight_pump")) == ()


@pytest.mark.parametrize("said", ["pump has been running at 720 not 72", "it has been running at 300 the whole night"])
def test_a_rate_far_above_every_ordered_one_is_an_alarm(said: str) -> None:
    assert [alarm.card for alarm in triage(plain(said), of_the_demo("child_overnight_pump"))] == ["overfeed"]
    assert triage(plain(said), NOBODY)


def test_many_small_words_before_a_strange_one_are_read_in_one_way() -> None:
    """A word that a pattern may read in two ways, many times over, would keep the danger station from answering."""
    assert not told("dry", "it's still on, that's it " * 400 + "mauve")
