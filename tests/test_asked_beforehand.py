"""How a nose tube's place is checked, asked before anything is given: the card as it usually is.

A check that failed, or a sign, keeps the level that the plan gives it. Whether to panic, only asked, calls for nobody.
"""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from assistant.household.care_plan import read_plan
from assistant.session import Session, instant

DEMO = Path(__file__).parent.parent / "demo"
NOW = "2026-11-26T10:20"


def level(text: str, name: str = "infant_powder") -> tuple[str | None, str]:
    plan = read_plan(DEMO / f"{name}.toml")
    now: datetime.datetime = instant(NOW, plan)
    reply = Session(plan).say(text, now)
    record = getattr(reply, "record", reply)
    return record["card"], record["level"]


@pytest.mark.parametrize("text", [
    "how can I tell his ng tube sits where it should before the feed?",
    "what's the way to check the nasal tube is in the stomach before I give milk",
    "remind me how we check tube position each time",
    "before I put his meds down, how do I make sure the tube is in his tummy",
])
def test_how_it_is_checked_is_no_emergency(text: str) -> None:
    assert level(text) == ("placement_check", "same_day")


@pytest.mark.parametrize("text", [
    "can't get any aspirate, how do I check it's in the right place?",
    "the nose tube slid out a bit, how do I check it's in the right place",
    "strip says 6, how do I make sure the tube is in his tummy",
])
def test_a_check_that_failed_stays_urgent(text: str) -> None:
    assert level(text) == ("placement_check", "urgent")


@pytest.mark.parametrize(("text", "card"), [
    ("should I be panicking? she's gone blue", "blue_lips"),
    ("should I panic, she is floppy", "unresponsive"),
    ("something's badly wrong, should I be panicking?", "panic"),
    ("bubble in the line, I am panicking", "panic"),
])
def test_panic_beside_a_danger_is_heard(text: str, card: str) -> None:
    assert level(text, "child_overnight_pump") == (card, "emergency")


def test_panic_only_asked_about_an_everyday_thing_is_none() -> None:
    found = level("her poo is a bit loose today, should we be panicking", "child_overnight_pump")
    assert found == ("diarrhoea", "same_day")
