"""Words that name outright what is asked: they lift the question they name, and only beside numbers that fit it."""

from __future__ import annotations

import pytest

from assistant import gather
from assistant.asked.asked_for import CERTAIN, lifted, named
from assistant.asked.plausible import _kinds
from assistant.clauses.parts import parts
from assistant.hear import hear
from assistant.hear.plain import plain
from assistant.numbers.said import said
from assistant.understand import Candidate
from knowledge.library import table

KINDS = {"rate", "volume", "time", "number", "count", "energy", "density", "drops", "drop_factor", "off", "start",
         "finish", "opened", "clock_now", "last_done", "clock", "every", "goal", "mass", "temperature",
         "length", "share", "none"}


def names(text: str) -> frozenset[str]:
    words = plain(text).lower()
    return named(words, _kinds(said(hear(words))))


def test_every_entry_names_a_question_and_kinds_that_are_heard() -> None:
    for intent, entry in table("asked_en").items():
        assert intent in gather.names() | {"contact", "plan_lookup", "log_lookup"}, intent
        for way in (entry, *entry.get("also", ())):
            assert {k for group in way["with"] for k in group} | set(way.get("without", ())) <= KINDS, intent


@pytest.mark.parametrize(("text", "intent"), [
    ("240 mL over 50 minutes, what rate?", "rate_needed"),
    ("three hundred in half an hour - how fast is that", "rate_needed"),
    ("how long is she on that, 480 at 80 mL/h", "bag_duration"),
    ("put up at 7:40 pm, done when?", "finish_at"),
    ("she began at quarter past six, what time will it be over", "finish_at"),
    ("six hours at 70, how much do I have to pour", "pour"),
    ("8 nights at gran's. Cartons to pack?", "containers"),
    ("with both breaks, how many mL behind", "catch_up"),
    ("dinner by hand tonight, how many syringefuls?", "syringe"),
    ("please write out her whole feeding day", "timetable"),
    ("how much water is in his balloon", "plan_lookup"),
    ("is 350 mL right for dinner", "check_settings"),
    ("crank it up to 95 for 3 hours", "change_rate"),
    ("flushed at 5:20 pm, next?", "flush"),
    ("convert 5 lb into grams", "convert"),
    ("what's still set?", "log_lookup"),
    ("would two scoops make the bottle a bit thicker?", "strength"),
])
def test_what_is_named_is_found(text: str, intent: str) -> None:
    assert intent in names(text)


@pytest.mark.parametrize("text", [
    "what is the interest rate on my savings", "how long will it take to drive 300 miles", "when does the shop close",
    "is it ok to give 100 mL of juice", "is a 120 mL residual right", "how many boxes are left",
    "how fast is her heart", "what is missing from the fridge", "how much is the breakfast at the hotel",
    "she is not right tonight",
])
def test_what_is_not_named_is_left(text: str) -> None:
    assert not names(text)


def test_shares_still_add_up_and_a_near_certain_reading_stays() -> None:
    ranked = (Candidate("drops", None, 0.6), Candidate("rate_needed", None, 0.3), Candidate("caution", "panic", 0.1))
    text = "what rate is that"
    moved = lifted(ranked, text, {"volume", "time"})
    assert moved[0].intent == "rate_needed" and sum(c.p for c in moved) == pytest.approx(1)
    assert lifted((Candidate("drops", None, CERTAIN),), text, {"volume", "time"})[0].intent == "drops"
    assert lifted(ranked, text, {"rate", "volume"}) == ranked


def test_a_word_without_a_subject_is_no_ask_of_its_own() -> None:
    assert parts("flushed her at ten past nine. next?") == ("flushed her at ten past nine. next?",)
    assert len(parts("how long does it last? when is the next flush?")) == 2
