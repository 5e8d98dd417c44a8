"""Every walk-through with each demonstration household, spoken as a carer would, through the whole assistant."""

from __future__ import annotations

from typing import Any

import pytest
from carer import DATA, Carer
from conftest import DEMO

from assistant.household.care_plan import Feed
from assistant.night import Night
from assistant.walk import guide_choice, guides
from assistant.walk.guide_amounts import limit_of
from rules.quantity import number, qty, unit_of

PLANS = tuple(sorted(p.stem for p in DEMO.glob("*.toml")))
ALL = [(plan, name) for plan in PLANS for name in DATA["words"]]

def feeds_for(carer: Carer, name: str) -> list[Feed | None]:
    method = guide_choice.METHODS.get(name)
    return [f for f in carer.plan.feeds if f.method == method] if method else [None]


@pytest.mark.parametrize(("plan", "name"), ALL)
def test_each_guide_from_its_first_words_to_the_end(plan: str, name: str) -> None:
    """Either every step in order and the question whether to write it down, or a refusal that says whom to ask."""
    first = Carer(plan)
    feeds = feeds_for(first, name)
    if guides.refusal_of(name, Night(first.plan, first.now)) is not None or not feeds:
        other = first.plan.feeds[0].name
        record = first.say(DATA["words"][name].format(feed=other))
        assert record["outcome"] == "declined" and record["defers"] and first.guide is None
        assert "nurse line" in record["text"]
        return
    for feed in feeds:
        carer = Carer(plan)
        carer.say(DATA["words"][name].format(feed=feed.name if feed else ""))
        assert carer.guide is not None, carer.record["text"]
        assert carer.guide["guide"] == name and (feed is None or carer.guide["feed"] == feed.name)
        steps = carer.steps()
        shown = carer.through()
        assert len(shown) == len(steps) + 1
        for at, (step, text) in enumerate(zip(steps, shown, strict=False), 1):
            assert f"Step {at} of {len(steps)}: {step.text}" in text
        assert carer.record["asks"] == "which_question" and not carer.session.events
        assert carer.say("yes")["outcome"] == "done" and carer.guide is None
        assert carer.session.events[0].kind == "walked_through"


@pytest.mark.parametrize("same", DATA["same"], ids=lambda s: s["figure"])
@pytest.mark.parametrize("plan", PLANS)
def test_steps_hold_the_amounts_that_the_assistant_answers(plan: str, same: dict[str, Any]) -> None:
    carer = Carer(plan)
    night = Night(carer.plan, carer.now)
    for name in same["guides"]:
        refused = guides.refusal_of(name, night) or carer.plan.formula.form in same.get("unless", ())
        for feed in [] if refused else feeds_for(carer, name):
            answer = Carer(plan).say(same["question"].format(feed=feed.name if feed else ""))
            found = [
                s.figures[same["figure"]] for s in guides.steps_for(name, night, feed) if same["figure"] in s.figures
            ]
            said = answer["figures"].get(same["figure"])
            if not found:  # too fast to count, or no such flush in the plan: the step has a wording without it
                assert same["figure"] in ("drops", "flush", "containers"), (name, answer["text"])
                continue
            assert said is not None, answer["text"]
            value = found[0].value
            assert said["value"] == pytest.approx(float(number(value, unit_of(value)))), (name, feed)


def test_what_runs_at_the_plan_s_rate_within_the_hang_limit_is_never_exceeded() -> None:
    """By arithmetic on the plan: poured less the line's share, over the rate, is within the limit."""
    for plan in PLANS:
        carer = Carer(plan)
        night = Night(carer.plan, carer.now)
        limit = limit_of(night)
        for feed in carer.plan.feeds:
            if feed.method != "pump" or carer.plan.formula.form == "closed_bag":
                continue
            step = next(s for s in guides.steps_for("start_pump_feed", night, feed) if s.name == "pour")
            line = carer.plan.equipment.priming_volume or qty(0, "mL")
            assert limit is not None and feed.rate is not None
            assert (step.figures["pour"].value - line) / feed.rate <= limit.limit


def test_a_gravity_feed_gets_no_priming_volume_and_no_ordered_step() -> None:
    """The plan's 18 mL are the pump set's, and its steps are a pump's rates: 200 mL in 40 min stay 300 mL/h."""
    carer = Carer("child_overnight_pump", "2026-11-12T15:00")
    assert carer.say("how much do i pour for the after school feed")["figures"]["pour"]["value"] == 200
    night = Night(carer.plan, carer.now)
    texts = [s.text for s in guides.steps_for("gravity_feed", night, carer.plan.feed("after school"))]
    assert "Pour 200 mL into the bag." in texts and not [t for t in texts if "18 mL" in t or "66 mL/h" in t]
    assert carer.say("how much do i pour for the overnight feed")["figures"]["pour"]["value"] == 66 * 6 + 18


# -- moving about, with other talk in between ----------------------------------------------------------------------


def test_a_question_in_the_middle_is_answered_and_the_guide_stays() -> None:
    carer = Carer("child_overnight_pump")
    carer.say("walk me through the overnight feed")
    carer.say("next")
    assert carer.say("how much water is a flush")["figures"]["flush"]["value"] == 20
    record = carer.say("ok")  # it may be about the answer: the step is said again, not passed
    assert carer.step == "label" and "Step 2 of" in record["text"]
    assert carer.say("ok")["intent"] == "next_step" and carer.step == "shake"


def test_yes_to_a_pending_question_passes_no_step() -> None:
    carer = Carer("child_overnight_pump")
    carer.say("walk me through the overnight feed")
    assert carer.say("how long will 400 mL last")["outcome"] in ("answered", "asked_back")
    carer.session.tracker.slots["talk"]["asks"] = "rate"
    carer.say("yes")
    assert carer.guide is not None and carer.guide["step"] == 0


@pytest.mark.parametrize("between", [(), ("how much water is a flush",), ("what's the nurse line", "thanks")])
def test_a_danger_in_the_middle_holds_the_steps_until_it_is_over(between: tuple[str, ...]) -> None:
    carer = Carer("child_overnight_pump")
    carer.say("walk me through the overnight feed")
    carer.say("next")
    assert carer.say("she is choking and going blue")["level"] == "emergency"
    for text in between:
        carer.say(text)
    for text in ("next", "where was i", "how much again"):
        assert carer.say(text)["outcome"] == "asked_back" and carer.step == "label"
        assert "serious" in carer.record["text"] and "care team" in carer.record["text"]
    assert "Step 2 of" in carer.say("yes")["text"]
    assert carer.say("next")["intent"] == "next_step" and carer.step == "shake"


def test_a_guide_asked_for_after_a_danger_is_held_back() -> None:
    carer = Carer("child_overnight_pump")
    carer.say("she is choking and going blue")
    record = carer.say("walk me through the overnight feed")
    assert record["outcome"] == "asked_back" and "Step" not in record["text"]
    closed = carer.say("no")
    assert carer.guide is None and "See to that first" in closed["text"]
    assert carer.say("walk me through the overnight feed")["outcome"] == "asked_back"
    assert "Step 1 of 25" in carer.say("yes")["text"]


def test_a_call_in_between_and_back() -> None:
    carer = Carer("adult_syringe")
    carer.say("walk me through supper")
    carer.say("next")
    for text in ("hang on", "phone is ringing", "pause for a call", "wait a minute"):
        assert "I wait at step 2" in carer.say(text)["text"] and not carer.session.events
    assert "Step 2 of" in carer.say("i'm back", later_by=40)["text"]


def test_next_morning_asks_whether_to_start_over() -> None:
    carer = Carer("infant_powder")
    carer.say("take me through the night feed")
    carer.say("next")
    record = carer.say("next", later_by=11 * 60)
    assert record["outcome"] == "asked_back" and "Start over" in record["text"] and "too old" in record["text"]
    assert "Step 1 of" in carer.say("yes")["text"]


def test_a_guide_left_open_longer_than_feed_may_hang_asks_too() -> None:
    """The infant's powder may hang two hours: after three the guide is not simply gone on with."""
    carer = Carer("infant_powder")
    carer.say("take me through the night feed")
    assert "Step 2 of" in carer.say("next", later_by=100)["text"]
    record = carer.say("next", later_by=180)
    assert record["outcome"] == "asked_back" and "more than 2 h" in record["text"]


def test_the_same_guide_asked_for_again_is_not_silently_begun_anew() -> None:
    carer = Carer("adult_syringe")
    carer.say("walk me through supper")
    carer.say("next")
    assert "open already" in carer.say("walk me through supper")["text"]
    assert "Step 2 of" in carer.say("no")["text"]
    carer.say("walk me through supper")
    assert "Step 1 of" in carer.say("yes")["text"]


def test_the_rate_can_be_asked_at_any_step() -> None:
    carer = Carer("adult_jejunal_cycle")
    carer.say("walk me through starting the pump")
    record = carer.say("what rate do i set")
    assert record["figures"]["rate"]["value"] == 84 and "eight four" in record["text"] and carer.step == "hands"


def test_slower_says_the_same_step() -> None:
    carer = Carer("adult_syringe")
    carer.say("walk me through supper")
    carer.say("next")
    record = carer.say("slower please")
    assert record["intent"] == "slower" and "Step 2 of" in record["text"] and carer.step == "label"


def test_thousands_have_no_comma() -> None:
    carer = Carer("adult_jejunal_cycle")
    carer.say("walk me through starting the pump")
    assert any("1344 mL" in s.text for s in carer.steps())
    assert not [s.text for s in carer.steps() if "1,344" in s.text]
