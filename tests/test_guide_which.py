"""Which walk-through is meant where several could be, and what small words do not choose."""

from __future__ import annotations

import pytest
from carer import Carer


def test_yes_picks_none_of_several_guides() -> None:
    carer = Carer("child_overnight_pump")
    assert "1. Start a feed by pump: overnight" in carer.say("walk me through the feed")["text"]
    assert carer.say("ok")["outcome"] == "asked_back" and carer.guide is None
    assert carer.say("the syringe one")["outcome"] == "done"
    assert carer.guide is not None and carer.guide["guide"] == "syringe_feed"


def test_tonight_means_the_one_feed_of_the_evening() -> None:
    carer = Carer("child_overnight_pump")
    carer.say("walk me through tonight's feed")
    assert carer.guide is not None and carer.guide["feed"] == "overnight"
    assert Carer("adult_syringe").say("walk me through tonight's feed")["outcome"] == "asked_back"  # dinner or supper


def test_help_for_a_danger_is_not_held_back_and_other_guides_still_are() -> None:
    carer = Carer("adult_jejunal_cycle")
    assert carer.say("the tube is blocked")["level"] == "urgent"
    assert "Step 1 of" in carer.say("walk me through unblocking it")["text"]
    carer.say("next")
    carer.say("stop")
    assert "serious" in carer.say("walk me through starting the pump")["text"]


@pytest.mark.parametrize("text", ["ok", "okay", "sure", "right"])
def test_ok_is_no_yes_to_a_danger_or_to_a_safety_step(text: str) -> None:
    carer = Carer("child_overnight_pump")
    carer.say("walk me through the overnight feed")
    carer.say("skip")
    assert carer.say(text)["text"].startswith("Step 1") and carer.step == "hands"
    carer.say("she is choking and going blue")
    carer.say("next")
    assert "serious" in carer.say(text)["text"] and carer.step == "hands"


@pytest.mark.parametrize(
    "text", ["start the overnight feed on the pump with me", "go through the overnight feed with me"]
)
def test_with_me_asks_to_be_led_and_writes_nothing(text: str) -> None:
    carer = Carer("child_overnight_pump")
    carer.say(text)
    assert carer.guide is not None and not carer.session.events


def test_a_choice_is_not_picked_by_a_small_word() -> None:
    carer = Carer("infant_powder")
    carer.say("next")
    assert carer.record["asks"] == "which_question"
    for text in ("what is the limit on the strip", "start over"):
        carer.say(text)
        assert carer.guide is None


def test_off_the_pump_is_the_pump_s_feed() -> None:
    carer = Carer("child_overnight_pump")
    carer.say("walk me through taking her off the pump")
    assert any(s.text.startswith("Stop the pump") for s in carer.steps())
