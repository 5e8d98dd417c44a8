"""A call at the desk: every card as the desk shows it, its questions, levels and note; sums with their origin.

The cards' levels and phrases are the card files' own (knowledge/cautions, tests/cautions); what an answer may do to a
level is arithmetic over their order.
"""

from __future__ import annotations

import tomllib
from datetime import datetime
from itertools import product
from zoneinfo import ZoneInfo

import pytest
from conftest import DEMO, ROOT

from assistant import cards
from assistant.cards import LEVELS
from assistant.household.care_plan import read_plan
from assistant.night import Night
from assistant.paper import nurse_call as calls
from assistant.paper.nurse_call import note, nurse_call
from assistant.triage import triage

NOW = datetime(2026, 11, 26, 2, 10, tzinfo=ZoneInfo("America/Halifax"))
PLAN = read_plan(DEMO / "child_overnight_pump.toml")
NIGHT = Night(PLAN, NOW)
PHRASES = {path.stem: tomllib.loads(path.read_text(encoding="utf-8")).get("raises", [])
           for path in sorted((ROOT / "tests" / "cautions").glob("*.toml"))}


@pytest.mark.parametrize("name", [name for name, phrases in PHRASES.items() if phrases])
def test_every_card_is_shown_whole(name: str) -> None:
    """Its words bring it: what to do and not to do, its questions, its source and who reviewed it; in the note too."""
    shown = 0
    for words in PHRASES[name][:2]:
        call = nurse_call(words, NIGHT, {})
        seen = next((one for one in call.cards if one.name == name), None)
        if seen is None:                                 # for this plan the words may bring another card instead
            continue
        shown += 1
        card = cards.card_for(name, NIGHT)
        assert seen.do and len(seen.do) >= len(card["do"]) and len(seen.do_not) == len(card.get("do_not", ()))
        assert len(seen.asked) == len(card.get("ask_next", ())) and seen.level in LEVELS
        assert seen.source["title"] and seen.source["place"] and seen.source["review"]
        assert not any("{" in line for line in (seen.says, *seen.do, *seen.do_not, *seen.tell))
        assert LEVELS.index(call.level) >= LEVELS.index(seen.level)
        written = note(call, NIGHT, "K-17", "nils")
        assert seen.title in written and written.count("Not asked.") >= len(seen.asked)
        assert seen.source["review"] in written
    assert shown or name not in {alarm.card for words in PHRASES[name][:2] for alarm in triage(words, NIGHT)}


def combinations(asked: int) -> list[tuple[str, ...]]:
    return list(product(("", "yes", "no"), repeat=asked))


@pytest.mark.parametrize("name", sorted(PHRASES))
def test_whatever_is_answered_no_level_falls_by_silence(name: str) -> None:
    """Over all answers to a card's questions: unanswered ones never lower, any one answer raises by itself."""
    card = cards.card_for(name, NIGHT)
    for level in ("same_day", "urgent", "emergency"):
        asked = tuple(calls._asked(f"{name}.{n}", one, level, {}) for n, one in enumerate(card.get("ask_next", ())))
        for answers in combinations(len(asked)):
            given = tuple(calls._asked(q.key, one, level, {q.key: answer}) for q, one, answer in
                          zip(asked, card.get("ask_next", ()), answers, strict=True))
            now = LEVELS.index(calls.level_after(level, given))
            told = [LEVELS.index(getattr(q, q.answer)) for q in given if q.answer]
            assert now >= max(told, default=0)
            if "" in answers or not answers:
                assert now >= LEVELS.index(level)


def test_the_same_call_is_the_same_and_writes_nothing() -> None:
    words = "she vomited twice since midnight and 40 mL are left"
    first, second = (nurse_call(words, NIGHT, {"vomiting.0": "no"}) for _ in range(2))
    assert first == second and note(first, NIGHT, "K-17", "nils") == note(second, NIGHT, "K-17", "nils")
    nurse_call("flushed with 20 mL just now", NIGHT, {})
    assert NIGHT.events == ()


@pytest.mark.parametrize("answers", [{"vomiting.0": "maybe"}, {"vomiting.99": "yes"}, {"": "yes"}, {"no_such.0": "yes"},
                                     {"vomiting.0": ""}, {"vomiting.0": "YES"}])
def test_an_answer_that_is_none_changes_nothing(answers: dict[str, str]) -> None:
    words = "she vomited twice since midnight"
    assert nurse_call(words, NIGHT, answers) == nurse_call(words, NIGHT, {})


def test_a_card_that_fits_nothing_leaves_the_decision_open() -> None:
    call = nurse_call("thank you for picking up", NIGHT, {})
    assert call.cards == () and call.level in ("none", "routine")
    written = note(call, NIGHT, "K-17", "nils")
    assert "thank you for picking up" in written and "Decided, and told to the caller:" in written


def test_a_sum_stands_with_each_value_and_where_it_came_from() -> None:
    """360 mL at 72 mL/h last 5 h; the amount from the caller, the rate from the plan."""
    call = nurse_call("how long will 360 mL last?", NIGHT, {})
    assert "5 h" in call.worked[0].text and call.worked[0].sources
    assert call.worked[0].used == (("volume", "360 mL", "question"), ("rate", "72 mL/h", "care plan"))
    written = note(call, NIGHT, "K-17", "nils")
    assert "5 h" in written and "worked out by rule" in written


def test_two_worries_are_two_cards_and_the_graver_level_counts() -> None:
    call = nurse_call("she vomited twice since midnight and now her lips are blue", NIGHT, {})
    assert len(call.cards) >= 2 and call.level == "emergency"
    assert call.worked == ()                             # no sum beside a danger


@pytest.mark.parametrize("words", ["<script>alert(1)</script>", "\x00\x1b[2J", "'; drop table events; --", "é" * 2000,
                                   "{words} %s {0}", "\ud800", "1" * 2000, "?" * 500])
def test_odd_words_are_words(words: str) -> None:
    call = nurse_call(words, NIGHT, {})
    assert call.level in LEVELS and note(call, NIGHT, "K-17", "nils").startswith("Call note, home K-17")


def test_without_a_plan_a_danger_is_heard_all_the_same() -> None:
    night = Night(None, NOW)
    call = nurse_call("she can't breathe", night, {})
    assert call.level == "emergency" and "she can't breathe" in note(call, night, "K-17", "nils")
