"""Every caution card: its shape, reading grade, spoken length, whom it names, and where its numbers come from."""

from __future__ import annotations

import datetime
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest

from assistant.paper.reading_grade import reading_grade, sentences, words

ROOT = Path(__file__).parent.parent
CARDS = ROOT / "knowledge" / "cautions"
EXAMPLES = ROOT / "tests" / "cautions"

CATALOGUE = tomllib.loads((ROOT / "tests" / "card_catalogue.toml").read_text(encoding="utf-8"))
USUAL_LEVEL = CATALOGUE["usual_level"]
LEVEL_OF = {name: level for level, names in USUAL_LEVEL.items() for name in names}

TEXTS = ("name_for_people", "says", "speech", "source", "place", "confirmed", "applies_to", "clinician_review", "level",
         "call")
LISTS = ("do", "do_not", "tell", "ask_next", "facts")
CONDITIONS = set(CATALOGUE["conditions"])
# What stands for a placeholder when the plan holds no number: the longest wording, so that lengths hold for any plan.
SAID_FOR = {"emergency": "your local emergency number", "nurse_line": "your nurse line", "supplier": "your supplier"}
STRENGTH = ("common practice", "memory", "read")
NUMBER = re.compile(r"\d[\d,.\-]*\d|\d")
NUMBER_WORDS = {"two": "2", "three": "3", "four": "4", "five": "5", "six": "6", "seven": "7", "eight": "8", "nine": "9",
                "ten": "10", "eleven": "11", "twelve": "12", "fifteen": "15", "twenty": "20", "thirty": "30",
                "forty": "40", "sixty": "60"}


def toml(path: Path) -> dict[str, Any]:
    return tomllib.loads(path.read_text(encoding="utf-8"))


def filled(text: str) -> str:
    return re.sub(r"\{(\w+)\}", lambda place: SAID_FOR[place.group(1)], text)


def every_line(card: dict[str, Any]) -> list[str]:
    """All words of the card that a person may read or hear."""
    lines = [card["says"], card["speech"], *card["do"], *card["do_not"], *card["tell"]]
    lines += [question["ask"] for question in card["ask_next"]]
    for part in card.get("level_when", []):
        lines += [part[key] for key in ("says", "speech") if key in part]
    for part in card.get("plan_text", []):
        lines += part["do"]
    return lines


def level_texts(card: dict[str, Any]) -> list[tuple[str, str, str]]:
    """(level, says, speech) as the plan may make them; a condition without its own words keeps the card's."""
    return [(card["level"], card["says"], card["speech"])] + [
        (part["level"], part.get("says", card["says"]), part.get("speech", card["speech"]))
        for part in card.get("level_when", [])]


def numbers_in(text: str) -> set[str]:
    said = {match.replace(",", "") for match in NUMBER.findall(text)}
    return said | {NUMBER_WORDS[word] for word in re.findall(r"[a-z]+", text.lower()) if word in NUMBER_WORDS}


FOUND = {path.stem: toml(path) for path in sorted(CARDS.glob("*.toml"))}
SOURCES = {name for path in (ROOT / "knowledge").glob("sources*.toml") for name in toml(path)}
FACTS = {figure["fact"]: figure for figure in toml(ROOT / "knowledge" / "figures" / "card_numbers.toml")["figure"]}
each_card = pytest.mark.parametrize("name", sorted(FOUND))


@pytest.mark.parametrize("name", sorted(LEVEL_OF))
def test_no_card_is_missing_and_each_has_its_usual_level(name: str) -> None:
    assert name in FOUND, f"knowledge/cautions/{name}.toml is missing"
    assert FOUND[name]["level"] == LEVEL_OF[name]


@each_card
def test_a_card_has_every_key_and_no_other(name: str) -> None:
    card = FOUND[name]
    needed = {*TEXTS, *LISTS, "defers", "checked"}
    assert needed <= set(card) <= needed | {"level_when", "plan_text"}
    assert all(isinstance(card[key], str) and card[key].strip() for key in TEXTS)
    assert all(isinstance(card[key], list) for key in LISTS)
    assert isinstance(card["defers"], bool) and isinstance(card["checked"], datetime.date)
    assert card["do"] and card["level"] in USUAL_LEVEL
    assert card["call"] in {"emergency", "nurse_line", "supplier", "none"}
    assert len(words(card["name_for_people"])) <= 5
    for question in card["ask_next"]:
        assert set(question) == {"ask", "yes", "no"} and question["ask"].endswith("?")
        assert {question["yes"], question["no"]} <= {*USUAL_LEVEL, "stays"}


@each_card
def test_conditions_are_known_and_their_parts_are_whole(name: str) -> None:
    for part in FOUND[name].get("level_when", []):
        assert {"when", "level"} <= set(part) <= {"when", "level", "says", "speech", "call"}
        assert part["when"] and set(part["when"]) <= CONDITIONS and part["level"] in USUAL_LEVEL
    for part in FOUND[name].get("plan_text", []):
        assert set(part) == {"when", "do"} and part["do"]
        assert part["when"] and set(part["when"]) <= CONDITIONS


@each_card
def test_a_card_reads_at_grade_six_or_lower(name: str) -> None:
    card = FOUND[name]
    text = "\n".join([card["says"], *card["do"], *card["do_not"], *card["tell"]])
    assert reading_grade(filled(text)) <= 6


@each_card
def test_each_act_is_short(name: str) -> None:
    card = FOUND[name]
    extra = [line for part in card.get("plan_text", []) for line in part["do"]]
    assert not [line for line in [*card["do"], *card["do_not"], *card["tell"], *extra] if len(line.split()) > 12]


@each_card
def test_what_is_heard_is_two_short_sentences(name: str) -> None:
    for _, _, speech in level_texts(FOUND[name]):
        assert len(filled(speech).split()) <= 35
        assert len(sentences(filled(speech))) <= 2
        assert not re.search(r"[^A-Za-z0-9 .,'?{}_-]", speech), "a symbol cannot be heard"


@each_card
def test_the_words_name_whom_to_call_at_every_level_the_plan_can_give(name: str) -> None:
    for level, says, speech in level_texts(FOUND[name]):
        if level == "emergency":
            assert "{emergency}" in says and "{emergency}" in speech
        if level == "urgent":
            assert "{nurse_line}" in says and "{nurse_line}" in speech
    if FOUND[name]["level"] == "same_day":
        text = " ".join(every_line(FOUND[name]))
        assert "{nurse_line}" in text or "care team" in text


@each_card
def test_placeholders_are_known(name: str) -> None:
    for line in every_line(FOUND[name]):
        assert set(re.findall(r"\{(\w*)\}", line)) <= set(SAID_FOR), line


@each_card
def test_sources_facts_and_strength_hold_together(name: str) -> None:
    card = FOUND[name]
    assert card["source"] == "common practice" or card["source"] in SOURCES
    assert set(card["facts"]) <= set(FACTS)
    if card["source"] == "common practice":
        assert card["confirmed"] == "common practice"
    weakest = min([STRENGTH.index(FACTS[fact]["confirmed"]) for fact in card["facts"]], default=0)
    assert STRENGTH.index(card["confirmed"]) <= weakest, "a card is no surer than the facts it rests on"


@each_card
def test_each_number_in_a_card_is_in_a_fact_that_it_cites(name: str) -> None:
    card = FOUND[name]
    published = {number for fact in card["facts"] for text in FACTS[fact]["numbers"] for number in numbers_in(text)}
    for line in every_line(card):
        assert numbers_in(line) <= published, line


@pytest.mark.parametrize("fact", sorted(FACTS))
def test_each_fact_names_its_source(fact: str) -> None:
    figure = FACTS[fact]
    assert figure["confirmed"] in STRENGTH
    assert {figure["source"], *figure.get("also", [])} <= {*SOURCES, "common practice"}
    if figure["source"] == "common practice":
        assert figure["confirmed"] in ("common practice", "memory")


@each_card
def test_a_card_whose_feed_may_run_begins_with_the_feed(name: str) -> None:
    """Unless something else kills sooner, or stopping the feed would itself do harm."""
    first = {"cord_neck", "fire_smoke", "low_sugar", "carer_crisis", "panic", "dehydration", "fever", "refeeding",
             "power_out", "pump_failure", "site_infection", "medicine_error"}
    card = FOUND[name]
    if card["level"] in ("emergency", "urgent") and name in LEVEL_OF and name not in first:
        assert card["says"].startswith("Stop the feed")
        assert card["speech"].startswith("Stop the feed")
        assert card["do"][0].startswith("Stop the feed")


@pytest.mark.parametrize("name", ["tube_out_new", "tube_out", "tube_out_jejunal", "tube_out_nasal"])
def test_a_lost_tube_is_not_put_back(name: str) -> None:
    assert any(line.startswith("Do not put it back") for line in FOUND[name]["do_not"])


@pytest.mark.parametrize("name", ["power_out", "pump_failure", "vomiting_persistent", "tube_out_jejunal", "low_sugar"])
def test_a_feed_that_stops_under_insulin_names_the_blood_sugar(name: str) -> None:
    assert any("lood sugar" in line for line in FOUND[name]["do"])


@each_card
def test_a_card_has_sentences_that_raise_it_and_sentences_that_do_not(name: str) -> None:
    examples = toml(EXAMPLES / f"{name}.toml")
    assert set(examples) == {"raises", "not_raises"}
    assert len(set(examples["raises"])) >= 5 and len(set(examples["not_raises"])) >= 3
    assert not set(examples["raises"]) & set(examples["not_raises"])
