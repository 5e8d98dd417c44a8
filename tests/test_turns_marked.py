"""The ear that hears a turn in its place: its lines are sound, its table is theirs, no danger is weighed by it."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest

from assistant.hear import hear
from assistant.household.care_plan import read_plan
from assistant.language.turn_features import Before, features
from assistant.language.turn_weights import read_turns, turns
from assistant.session import Session, instant
from assistant.understand import rank
from knowledge.library import load

TESTS = Path(__file__).parent
FILES = sorted((TESTS / "turns_marked").glob("*.jsonl"))
OUTCOMES = {"answered", "done", "asked_back", "declined"}
DEMO = TESTS.parent / "demo"


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_turn_says_what_was_before_it(file: Path) -> None:
    rows = [json.loads(line) for line in file.read_text("utf-8").splitlines()]
    assert rows
    for row in rows:
        assert row.keys() >= {"before", "text", "intent"} and row.keys() <= {"before", "said", "text", "intent", "also"}
        assert row["before"].keys() == {"intent", "outcome", "asks", "sum"}, row
        assert row["before"]["outcome"] in OUTCOMES and row["text"].strip() and row["intent"], row


def test_the_labels_of_the_table_are_those_of_the_lines() -> None:
    told = {json.loads(line)["intent"] for file in FILES for line in file.read_text("utf-8").splitlines()}
    assert set(turns().labels) == told


def test_shares_add_up_and_come_likeliest_first() -> None:
    text = "and at 70"
    before = Before("bag_duration", "answered", "", "bag_duration")
    shares = turns().shares(features(text, hear(text), before, rank(text)))
    values = list(shares.values())
    assert sum(values) == pytest.approx(1.0) and values == sorted(values, reverse=True)
    assert next(iter(shares)) in ("bag_duration", "change_rate")


def test_the_same_words_mean_another_thing_after_another_reply() -> None:
    text = "make it half past"

    def likeliest(before: Before) -> str:
        return next(iter(turns().shares(features(text, hear(text), before, rank(text)))))

    assert likeliest(Before("remind", "done")) == "remind"
    assert likeliest(Before("start_by", "answered", "", "start_by")) == "start_by"


def test_a_table_is_read_as_it_is_written() -> None:
    known = read_turns(["# note", "step\t0.5", "label\tone\t0.0", "label\ttwo\t1.0", "w:yes\t0:4", "w:no\t1:2"])
    assert known.labels == ("one", "two")
    assert next(iter(known.shares({"w:yes": 1.0}))) == "one"  # 4 * 0.5 against 1.0
    assert next(iter(known.shares({}))) == "two"


BEFORE = ["how long will 400 last at 65", "remind me at two to turn her", "started at 9 at 72"]
DANGERS = [
    "his lips are blue", "she has stopped breathing", "he is choking on it", "she won't wake up", "he's having a fit",
    "the tube came right out", "there is blood coming out of the tube", "she is covered in hives and her tongue is fat",
    "he swallowed a button battery", "I gave her the medicine twice, 10 instead of 5",
    "the feed went into the drip in his arm",
]


@pytest.mark.parametrize("said", DANGERS)
@pytest.mark.parametrize("before", BEFORE)
def test_no_reply_before_hides_a_plain_danger(before: str, said: str) -> None:
    plan = read_plan(DEMO / "child_overnight_pump.toml")
    session, now = Session(plan), instant("2026-11-25T22:30", plan)
    session.say(before, now)
    record = session.say(f"wait, {said}", now + timedelta(minutes=1))
    assert record["intent"] == "caution" and record["level"] in ("urgent", "emergency"), record["text"]
    assert record["card"] in load("cautions")
