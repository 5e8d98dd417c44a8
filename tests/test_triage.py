"""Danger is heard first: rules over signs that nothing can outvote, and a second ear that raises, never silences."""

from __future__ import annotations

import datetime
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from assistant import triage as station
from assistant.cards import card
from assistant.danger.hearing import cards_called, hear
from assistant.danger.rules import number_classes, rules
from assistant.danger.signs import vocabularies
from assistant.danger.words import fold
from assistant.hear.plain import plain
from assistant.household.plan_file import care_plan
from assistant.household.plan_reader import plan_bytes, read_values
from assistant.night import Night
from assistant.triage import triage, worrying
from knowledge.library import sources

ROOT = Path(__file__).parent.parent
NOW = datetime.datetime(2026, 11, 25, 2, 10, tzinfo=datetime.UTC)
NOBODY = Night(None, NOW)
GRAVE = ("urgent", "emergency")
TUBE_OUT = {"tube_out", "tube_out_new", "tube_out_jejunal", "tube_out_nasal"}


def examples(kind: str) -> list[tuple[str, str]]:
    found = []
    for path in sorted((ROOT / "tests" / "cautions").glob("*.toml")):
        found += [(path.stem, text) for text in tomllib.loads(path.read_text(encoding="utf-8")).get(kind, ())]
    return found


def cards(text: str, night: Night = NOBODY) -> list[str]:
    return [alarm.card for alarm in triage(plain(text), night)]


def plain_cards(text: str) -> set[str]:
    """Cards named by rules that stand on their own."""
    return {found.card for found in cards_called(plain(text)) if not found.hint}


GRAVE_EXAMPLES = [(name, text) for name, text in examples("raises") if card(name)["level"] in GRAVE]


@pytest.mark.parametrize(("name", "text"), GRAVE_EXAMPLES)
def test_every_grave_example_raises_an_alarm(name: str, text: str) -> None:
    assert triage(plain(text), NOBODY), f"{name}: not heard"


def test_most_grave_examples_reach_their_own_card() -> None:
    right = [
        name
        for name, text in GRAVE_EXAMPLES
        if name in cards(text) or (name in TUBE_OUT and TUBE_OUT & set(cards(text)))
    ]
    assert len(right) >= 0.95 * len(GRAVE_EXAMPLES)


def test_few_of_the_closest_everyday_words_raise_an_alarm() -> None:
    """Each `not_raises` line was written to mislead: a sign denied, long over, asked about, or meant otherwise."""
    lines = examples("not_raises")
    raised = [text for _, text in lines if triage(plain(text), NOBODY)]
    assert len(raised) <= 0.11 * len(lines), raised


PLAIN_SIGNS = {  # said plainly: a rule hears it, whatever the weights hold
    "cant_breathe": [
        "He can't breathe",
        "she is not breathing right",
        "pt dyspnoeic, RR 46",
        "SpO2 82 on room air",
        "his breeding is so fast",
    ],
    "choking": ["Grandad is chocking on his toast", "the baby is choking"],
    "blue_lips": [
        "her lips are blue",
        "his mouth is turning blew",
        "pt cyanosed",
        "l\u200bips are b\u200blue",
        "How long does 400 last at 80? Oh and his fingernails look purple",
    ],
    "unresponsive": ["I can't wake her", "GCS 3", "my brother just collapsed", "he won't wake up at all"],
    "seizure": ["she is having a seizure", "he had a sees her a minute ago and it is still going"],
    "stroke_heart": ["half of his face has dropped", "crushing pain in her chest"],
    "allergy": ["his tongue is swelling up", "hives all over since the new carton"],
    "bleeding": ["she is vomiting blood", "there is blood pouring from the tube site", "coffee grounds in the syringe"],
    "low_sugar": ["BGL 2.1", "the meter reads LO", "sugar is 3", "she is sweaty and shaking and had her insulin"],
    "cord_neck": ["the tubing is wrapped around his neck"],
    "button_battery": ["my toddler swallowed a watch battery"],
    "wrong_line": ["the formula went into her PICC line"],
    "fire_smoke": ["there is smoke coming out of the charger", "the kitchen is on fire"],
    "carer_crisis": [
        "I want to kill myself",
        "they would both be better off without me",
        "thinking of ending it for the pair of us",
    ],
    "fever": ["T 39.2", "temp is 38.4", "she is 101.6", "his temperature is thirty nine"],
    "green_vomit": ["emesis bilious", "he is being sick and it is green"],
    "tube_out": ["her peg has fallen out", "his button popped out on the floor"],
    "panic": ["HELP", "something is really wrong with him", "should I call triple zero"],
}


@pytest.mark.parametrize(("name", "text"), [(n, t) for n, texts in PLAIN_SIGNS.items() for t in texts])
def test_plain_signs_are_heard_by_a_rule_even_where_the_weights_hold_them_for_harmless(
    name: str, text: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(station, "danger", lambda _: 0.0)
    monkeypatch.setattr(station, "rank", lambda _: ())
    found = cards(text)
    assert name in found or (name == "tube_out" and TUBE_OUT & set(found)), (found, cards_called(plain(text)))


@pytest.mark.parametrize(
    "text",
    [
        "the blue light on the pump is flashing",
        "which way does the red cap go",
        "the pump's battery is dead flat again, where do I charge it",
        "feeling a bit blue today",
        "this maths is killing me",
        "the black clamp is stiff",
        "no blood this time, thank goodness",
        "her last seizure was in March",
        "I used to be a paramedic",
        "what are the signs of a stroke",
        "the dog's lips look blue",
        "in the film the man can't breathe",
        "how long does 500 last at 65",
        "help me work out the rate",
        "can you hang the new bag at nine",
        "",
        "...",
        "12 30 9 4",
        "\u202e867\u202c",
    ],
)
def test_everyday_words_are_not_met_with_an_alarm(text: str) -> None:
    assert cards(text) == []


# Published lists of signs, sign by sign, in our own words. Where: the source's id in knowledge/sources*.toml.
PUBLISHED = [
    ("npsa-2010-rrr010", "new_tube_signs", "peg went in yesterday and it really hurts when I run the feed"),
    ("npsa-2010-rrr010", "new_tube_signs", "new peg two days ago and stomach contents are leaking out around it"),
    ("npsa-2010-rrr010", "new_tube_signs", "tube placed yesterday, fresh bleeding at the site"),
    ("npsa-2010-rrr010", "new_tube_signs", "his gastrostomy was put in two days ago, he screams with pain on feeding"),
    ("npsa-2012-signal-1300", "tube_out", "the gastrostomy tube came out ten minutes ago"),
    ("fda-strangulation-2022", "cord_neck", "feeding set tubing is round his neck"),
    ("fda-strangulation-2022", "cord_neck", "found her with the line wrapped around her neck in the cot"),
    ("fda-strangulation-2022", "cord_neck", "tubing tangled round the baby's throat"),
    ("npsa-2011-nasogastric", "tube_in_airway", "he started coughing and went blue as I passed the new NG"),
]


@pytest.mark.parametrize(("source", "name", "text"), PUBLISHED)
def test_signs_of_published_alerts(source: str, name: str, text: str) -> None:
    assert source in sources()
    found = triage(plain(text), NOBODY)
    assert found and found[0].level in GRAVE
    same = {name, "bleeding"} if "bleed" in text else {name, "blue_lips"} if "blue" in text else {name}
    assert same & {alarm.card for alarm in found} or (name == "tube_out" and TUBE_OUT & {a.card for a in found}), found


def plan_of(name: str) -> Night:
    path = ROOT / "demo" / f"{name}.toml"
    return Night(care_plan(read_values(plan_bytes(path), path.name), path), NOW)


def test_a_tube_that_came_out_depends_on_the_tube() -> None:
    text = "the tube has come out and is on the floor"
    assert cards(text) == ["tube_out"]
    assert cards("his peg fell out, it was only put in last week") == ["tube_out_new"]
    assert cards("her J-tube has come out") == ["tube_out_jejunal"]
    assert cards("her NG tube has been pulled out") == ["tube_out_nasal"]
    assert cards(text, plan_of("adult_jejunal_cycle")) == ["tube_out_jejunal"]
    night = plan_of("child_overnight_pump")
    assert night.plan is not None
    young = replace(night, plan=replace(night.plan, tube=replace(night.plan.tube, placed=datetime.date(2026, 11, 1))))
    assert cards(text, young) == ["tube_out_new"]


def test_two_dangers_are_both_said_worst_first() -> None:
    found = triage(plain("he has a temperature of 39.4 and his lips are blue"), NOBODY)
    assert [alarm.card for alarm in found][:2] == ["blue_lips", "fever"]
    assert found[0].level == "emergency"


def test_a_hint_counts_only_with_a_trace_of_danger(monkeypatch: pytest.MonkeyPatch) -> None:
    text = plain("the pump won't turn on")
    assert any(found.hint for found in cards_called(text)) and not plain_cards(text)
    assert triage(text, NOBODY)
    monkeypatch.setattr(station, "danger", lambda _: 0.0)
    assert not triage(text, NOBODY)


BESIDE_A_SUM = (
    "he is choking feed of 300 at 60 how long",
    "300 left at 60 and he's not breathing how long will it last",
    "how long does 300 last at 60 he's gone blue",
    "how many cartons for ten days she is having a fit",
    "pump beeping occlusion and he is unconscious how do I stop the alarm",
    "what time will the 500 finish at 70 her lips are blue and when do I bin it",
    "set to 640 instead of 64 is that right he is floppy",
    "350 to go at 60 the button came out of her tummy when does it end",
)


@pytest.mark.parametrize("text", BESIDE_A_SUM)
def test_a_sum_does_not_drown_the_danger_named_beside_it(text: str) -> None:
    assert triage(plain(text), NOBODY)


def test_a_normal_reading_is_no_fever() -> None:
    assert "fever" in hear("temp 36.8 tonight").well
    assert "fever" not in cards("temp 36.8 tonight, cough gone")


def test_a_hidden_worry_is_asked_about() -> None:
    text = "he seems off tonight and I do not know why"
    assert worrying(plain(text)) or cards(text)
    assert not worrying("")


def test_rules_name_only_signs_and_cards_that_exist() -> None:
    known = vocabularies().keys() | number_classes().keys()
    for rule in rules():
        assert card(rule.card)
        assert rule.need <= known and set(rule.unless) <= known, rule


def test_spoken_numbers_are_read_as_one() -> None:
    assert fold("a hundred and one point four").raw == ("101.4",)
    assert fold("thirty eight point five").raw == ("38.5",)
    assert fold("one oh one point two").raw == ("101.2",)
