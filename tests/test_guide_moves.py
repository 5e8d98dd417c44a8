"""Walk-throughs: which one the words mean, and moving about in it."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from guide_files import (
    HERE,
    MOST_SPOKEN,
    PLANS,
    data,
    fitting,
    ids,
    night,
)

from assistant import actions, dialogue
from assistant.answer import new_tracker
from assistant.asked.question import Question
from assistant.hear import hear
from assistant.hear.plain import plain
from assistant.night import Night
from assistant.numbers.said import said
from assistant.walk import guide_choice, guides
from knowledge.library import load, table

# -- choosing ----------------------------------------------------------------------------------------------------


class Walk:
    """A talk that only moves about in guides: the intent is the guide's own reading of the words."""

    def __init__(self, of: Night) -> None:
        self.night, self.talk, self.record = of, dialogue.Talk(), {}

    def say(self, text: str, later: int = 0) -> dict[str, Any]:
        self.night = replace(self.night, now=self.night.now + timedelta(minutes=later))
        text = plain(text)
        name = guides.guide_turn(text, self.talk) or "guide"
        made = actions.act(Question(name), said(hear(text)), self.night, self.talk, (), new_tracker())
        kept = dialogue.from_plain(dialogue.to_plain(made.talk))  # what travels is all there is
        self.talk, self.record = replace(kept, at=self.night.now, last=made.record), made.record
        self.written = made.events
        return made.record

    @property
    def step(self) -> str:
        """Where the talk stands, as the conversation keeps it."""
        if self.talk.guide is None:
            return "closed"
        feed = next((f for f in self.night.feeds if f.name == self.talk.guide["feed"]), None)
        return guides.steps_for(self.talk.guide["guide"], self.night, feed)[self.talk.guide["step"]].name


@pytest.mark.parametrize("case", data("choice", "say"), ids=ids)
def test_which_guide(case: dict[str, Any]) -> None:
    walk = Walk(night(case.get("plan")))
    record = walk.say(case["words"])
    if "guide" in case:
        assert walk.talk.guide is not None, record["text"]
        assert walk.talk.guide["guide"] == case["guide"]
        assert case.get("feed") in (None, walk.talk.guide["feed"])
        assert record["outcome"] == "done" and record["sources"]
        assert len(record["speech"].split()) <= MOST_SPOKEN
    elif "refused" in case:
        assert record["outcome"] == "declined" and record["defers"] and walk.talk.guide is None
        assert case["refused"] in record["text"] and re.search(r"nurse line|care team", record["text"])
    else:
        assert record["asks"] == "which_question" and [c["label"] for c in record["choices"]] == case["asks"]


# -- moving about ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("talk", data("talks", "talk"), ids=ids)
def test_talks(talk: dict[str, Any]) -> None:
    walk = Walk(night(talk["plan"]))
    for turn in talk["turn"]:
        record = walk.say(turn["say"], turn.get("later", 0))
        assert walk.step == turn["to"], (turn, record["text"])
        assert record.get("asks") == turn.get("asks"), (turn, record["text"])
        assert not [t for t in turn.get("text_has", ()) if t not in record["text"]], record["text"]
        assert len(record["speech"].split()) <= MOST_SPOKEN


@pytest.mark.parametrize("plan", PLANS)
def test_no_safety_step_is_skipped_silently_and_the_end_names_what_was_left_out(plan: str) -> None:
    of = night(plan)
    for name in fitting(of):
        walk = Walk(of)
        walk.talk = replace(
            walk.talk, choices=({"intent": "guide", "label": "x", "guide": name},), asks="which_question"
        )
        walk.say("one")
        if walk.talk.guide is None or walk.talk.guide.get("asked"):
            continue  # which feed?
        feed = next((f for f in of.feeds if f.name == walk.talk.guide["feed"]), None)
        steps, left_out = guides.steps_for(name, of, feed), []
        for step in steps:
            record = walk.say("skip")
            if step.must:
                assert record["outcome"] == "asked_back" and step.text in record["text"]
                left_out.append(step.text)
                record = walk.say("yes")
        assert walk.talk.guide is None and record["outcome"] == "done"
        assert not [t for t in left_out if t not in record["text"]], name


def test_after_a_danger_no_step_follows_until_it_is_over() -> None:
    walk = Walk(night("child_overnight_pump"))
    walk.say("walk me through the overnight feed")
    walk.talk = replace(walk.talk, danger={"card": "choking", "said": "Stop the feed."})
    for text in ("next", "next", "where was i"):
        record = walk.say(text)
        assert record["asks"] == "which_question" and "Stop the feed." in record["text"]
    assert "Step 1" in walk.say("yes")["text"] and walk.talk.danger is None
    walk.talk = replace(walk.talk, danger={"card": "choking", "said": "Stop the feed."})
    walk.say("next")
    walk.say("no")
    assert walk.talk.guide is None


@pytest.mark.parametrize(
    ("text", "led"),
    [
        ("walk me through venting", True),
        ("how do i vent her", True),
        ("talk me thru a flush", True),
        ("walk me through changing the button", True),
        ("walk me through how you got that", False),
        ("how do i feel better", False),
        ("how much do i pour for the bag", False),
        ("steps up to 66 on monday", False),
    ],
)
def test_words_that_plainly_ask_to_be_led(text: str, led: bool) -> None:
    assert guide_choice.asks_to_be_led(text) is led


def test_which_feed_is_asked_where_the_numbers_differ() -> None:
    of = night("adult_syringe")
    assert of.plan is not None
    feeds = tuple(
        replace(f, volume=f.volume * 2) if f.name == "lunch" and f.volume is not None else f for f in of.feeds
    )
    walk = Walk(replace(of, plan=replace(of.plan, feeds=feeds)))
    record = walk.say("talk me through a syringe feed")
    assert record["asks"] == "which_feed" and "lunch" in record["text"]
    assert walk.say("the lunch one")["outcome"] == "done"
    assert walk.talk.guide is not None and walk.talk.guide["feed"] == "lunch"


def test_next_and_back_without_an_open_guide_say_so_and_offer() -> None:
    of = night("child_overnight_pump")
    for name in ("next_step", "previous_step"):
        made = actions.act(Question(name), said(hear("next")), of, dialogue.Talk(), (), new_tracker())
        assert made.record["asks"] == "which_question" and 1 <= len(made.record["choices"]) <= 3
        assert "No guide is open" in made.record["text"]
        assert all(set(c) == {"intent", "label"} for c in made.record["choices"])


def test_next_past_the_end_is_done_and_clears() -> None:
    walk = Walk(night("adult_syringe"))
    walk.say("show me how to flush")
    for _ in range(30):
        record = walk.say("next")
        if record["outcome"] == "asked_back":
            break
    assert "last step" in record["text"] and "Shall I write it down" in record["text"]
    assert not walk.written
    assert walk.say("no")["outcome"] == "done" and walk.talk.guide is None and not walk.written


OTHER = (
    "how long does the bag last",
    "next feed",
    "what rate is it",
    "back pain",
    "when is the last one due",
    "640 left",
    "stop the feed",
    "how much do i pour",
    "yes but how long",
    "he is coughing",
    "skip the feed tonight",
)


@pytest.mark.parametrize("text", OTHER)
def test_other_questions_leave_the_guide_alone(text: str) -> None:
    walk = Walk(night("child_overnight_pump"))
    walk.say("walk me through the overnight feed")
    assert guides.guide_turn(text, walk.talk) is None


def test_without_a_guide_nothing_is_a_turn_of_one() -> None:
    assert guides.guide_turn("next", dialogue.Talk()) is None


def test_every_line_and_pattern_is_used() -> None:
    words = table(guides.WORDS)
    code = "".join(p.read_text(encoding="utf-8") for p in (HERE.parent.parent / "assistant").rglob("guide*.py"))
    stems = {re.sub(r"_(?:text|speech|yes|no)$", "", k) for k in words["lines"]}
    assert not [k for k in stems if k not in code and k not in ("pump", "gravity", "syringe")]
    assert set(load("guides")) - {"_shared"} == set(guides.names())
