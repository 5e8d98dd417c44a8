"""A danger is one in whatever tense it is told, and whoever has it: "has stopped breathing", "our Tom is fitting"."""

from __future__ import annotations

import datetime

import pytest

from assistant.night import Night
from assistant.triage import triage

NOBODY = Night(plan=None, now=datetime.datetime(2026, 11, 25, 2, 10, tzinfo=datetime.UTC))
WHO = ("she", "my mum", "the baby", "our Tom", "my husband", "the wee man")
BREATH, WAKING, BLUE = ("cant_breathe", "choking"), ("unresponsive", "fainting"), ("blue_lips", "cant_breathe")
TUBE = ("tube_out", "tube_out_new", "tube_out_nasal", "tube_out_jejunal")
FORMS = {
    "{} has stopped breathing": BREATH,
    "{} is no longer breathing": BREATH,
    "{} isn't breathing any more": BREATH,
    "{} has ceased breathing": BREATH,
    "{} can't catch a breath": BREATH,
    "{} no longer wakes": WAKING,
    "{} no longer responds": WAKING,
    "{} has stopped moving": WAKING,
    "{} won't wake up": WAKING,
    "{} has passed out": WAKING,
    "{} collapsed": WAKING,
    "{} has gone limp": WAKING,
    "{} has turned blue": BLUE,
    "{} is going blue": BLUE,
    "{} is fitting": ("seizure",),
    "{} has had a fit": ("seizure",),
    "{} is having a seizure": ("seizure",),
    "{} has choked": ("choking",),
    "{} has pulled the tube out": TUBE,
    "{} has vomited blood": ("bleeding",),
    "{} has swallowed a button battery": ("button_battery", "foreign_body"),
    "{} has taken too many tablets": ("medicine_error", "poisoning"),
    "{} tried to kill herself": ("carer_crisis",),
    "{} got a shock off the pump": ("injury",),
    "{} has got a blood sugar of 2": ("low_sugar",),
}


@pytest.mark.parametrize("who", WHO)
@pytest.mark.parametrize("form", FORMS)
def test_a_danger_is_heard_in_any_form_and_of_anybody(form: str, who: str) -> None:
    heard = {alarm.card for alarm in triage(form.format(who), NOBODY)}
    assert heard & set(FORMS[form]), heard


@pytest.mark.parametrize("text", [
    "the pump has stopped responding",
    "the nurse no longer answers",
    "our Tom stopped waking at night, lovely",
    "he stopped moving about at last and is asleep",
    "breathing is back to normal",
    "he got such a shock when the pump beeped",
    "we check her blood sugar 3 times a day",
    "her blood sugar is 8",
    "the bleeding has stopped",
    "he no longer needs the thickener",
])
def test_what_ends_for_the_better_or_of_a_thing_is_no_emergency(text: str) -> None:
    assert not [alarm for alarm in triage(text, NOBODY) if alarm.level == "emergency"]


def test_a_tube_on_the_floor_is_named_outright() -> None:
    """The weights alone give it 0.23: a rule has to hear it."""
    heard = triage("the tube ended up on the lino", NOBODY)
    assert [(alarm.card, alarm.certain) for alarm in heard] == [("tube_out", True)]
