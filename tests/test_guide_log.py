"""Walk-throughs: what is written down of one, and only after a yes."""

from __future__ import annotations

from carer import DATA, Carer

from rules.clock import later
from rules.feed_state import Event
from rules.quantity import qty

# -- what is written down -------------------------------------------------------------------------------------------


def ticked(name: str, plan: str, feed: str = "", answer: str = "yes") -> tuple[Carer, list[Event]]:
    carer = Carer(plan)
    carer.say(DATA["words"][name].format(feed=feed))
    carer.through()
    carer.say(answer)
    return carer, [e for e in carer.session.events if e.kind != "walked_through"]


def test_a_pump_feed_is_written_as_started_when_its_step_was_ticked() -> None:
    carer, events = ticked("start_pump_feed", "child_overnight_pump", "overnight")
    assert [e.kind for e in events] == ["flushed", "feed_started"]
    started = events[1]
    assert (started.volume, started.rate, started.feed) == (qty(648, "mL"), qty(72, "mL/h"), "overnight")
    assert events[0].volume == qty(20, "mL") and started.at < carer.now
    assert carer.say("how much is left")["figures"]["remaining"]["value"] > 640
    assert carer.say("undo")["outcome"] == "done"
    assert "feed_started" not in [e.kind for e in carer.session.events]


def test_a_feed_by_hand_is_written_as_given() -> None:
    _, events = ticked("syringe_feed", "adult_syringe", "supper")
    assert [e.kind for e in events] == ["flushed", "feed_started", "flushed", "stopped"]
    assert events[-1].volume == qty(330, "mL") and events[1].rate is None


def test_nothing_is_written_before_a_yes_or_after_a_no() -> None:
    carer, events = ticked("flush", "adult_syringe", answer="no")
    assert not events and not carer.session.events and carer.guide is None
    carer = Carer("adult_syringe")
    carer.say("walk me through a flush")
    carer.through()
    carer.say("how many syringes is supper")  # other talk first: a later yes is no yes to the log
    carer.say("yes")
    assert not carer.session.events


def test_a_skipped_step_is_not_written() -> None:
    carer = Carer("adult_syringe")
    carer.say("walk me through a flush")
    while carer.step and carer.step != "push":
        carer.say("next")
    carer.say("skip")
    carer.through()
    carer.say("yes")
    assert [e.kind for e in carer.session.events] == ["walked_through"]


def test_a_feed_that_runs_by_the_log_is_not_begun_twice_unasked() -> None:
    carer = Carer("child_overnight_pump", "2026-11-25T23:30")
    begun = later(carer.now, qty(-2, "h"))
    carer.session.events = (Event(begun, "feed_started", qty(648, "mL"), qty(72, "mL/h"), "overnight"),)
    record = carer.say("walk me through the overnight feed")
    assert record["outcome"] == "asked_back" and "has run since 21:30" in record["text"]
    assert "how much do I pour" in carer.say("no")["text"] and carer.guide is None
    carer.say("walk me through the overnight feed")
    assert "Step 1 of" in carer.say("yes")["text"]
