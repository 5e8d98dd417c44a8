"""Walk-throughs: every guide for every demonstration household, and the numbers in its steps.

Figures come from the arithmetic in tests/guides/amounts.toml and from the assistant's own answers to the same question.
"""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from guide_files import (
    HARDEST,
    MOST_WORDS,
    PLANS,
    PRINTED,
    all_steps,
    data,
    fitting,
    ids,
    night,
    plainly,
)

from assistant.paper.reading_grade import reading_grade
from assistant.session import Session
from assistant.walk import guide_choice, guides
from assistant.walk.guide_amounts import amounts
from assistant.wording.show import show
from knowledge.checks.guides import check as check_guides
from knowledge.library import FOLDER, Shelf, check, sources, table

STEPS = all_steps()


# -- every guide, every household --------------------------------------------------------------------------------


def test_the_files_have_no_fault() -> None:
    assert not [f for f in check() if "guide" in f.file]


@pytest.mark.parametrize(
    ("was", "now", "told"),
    [
        ('use = "shake"', 'use = "shaek"', "no shared step"),
        ('log = "feed_started"', 'log = "fed"', "never written down"),
        ('say = "Close the clamp on the feeding set."', 'say = "' + "go " * 21 + '"', "at most 20"),
        ('why = "An empty line', 'wy = "An empty line', "is not known here"),
        ('has = ["pour", "priming"], ', "", "without has"),
        ("{pour} into", "{pours} into", "is no amount"),
        ('needs = ["more_fills"]', 'needs = ["more_fils"]', "is no condition"),
        ('end = "The feed runs."', 'end = "The feed runs."\ncards = ["choke"]', "no caution card"),
    ],
)
def test_a_faulty_guide_is_reported(was: str, now: str, told: str, tmp_path: Path) -> None:
    for name in ("guides", "cautions"):
        shutil.copytree(FOLDER / name, tmp_path / name)
    shutil.copy(FOLDER / f"{guides.WORDS}.toml", tmp_path)
    assert not list(check_guides(Shelf(tmp_path)))
    file = tmp_path / "guides" / "start_pump_feed.toml"
    text = file.read_text(encoding="utf-8")
    assert was in text
    file.write_text(text.replace(was, now), encoding="utf-8")
    assert [f for f in check_guides(Shelf(tmp_path)) if told in str(f)]


def test_every_guide_is_reached_by_words_and_fits_some_household() -> None:
    reached = {s["guide"] for s in data("choice", "say") if "guide" in s}
    assert set(guides.names()) - reached == {"start_pump_feed"} - reached
    assert {name for _, name, _ in STEPS} == set(guides.names())


@pytest.mark.parametrize("plan", PLANS)
def test_every_fitting_guide_has_steps(plan: str) -> None:
    of = night(plan)
    for name in fitting(of):
        feeds = guide_choice.feeds_of(name, of)
        assert len(guides.steps_for(name, of, feeds[0] if feeds else None)) >= 6, name


def test_steps_are_short() -> None:
    long = [(p, n, s.name, s.speech) for p, n, s in STEPS if len(s.speech.split()) > MOST_WORDS]
    assert not long


def test_steps_and_reasons_are_easy_to_read() -> None:
    for plan, name in {(p, n) for p, n, _ in STEPS}:
        mine = [s for p, n, s in STEPS if (p, n) == (plan, name)]
        for texts in ([s.speech for s in mine], [s.text for s in mine], [s.why for s in mine if s.why]):
            assert reading_grade("\n".join(texts)) <= HARDEST, (plan, name)


def test_all_else_that_guides_say_is_easy_to_read() -> None:
    """Lines, ends and refusals, each kind together; a name to be filled in counts as one short word."""
    words, own = table(guides.WORDS), [guides.guide(n) for n in guides.names()]
    refused = [r["text"] for g in own for r in g.get("refuse", ())]
    spoken = [r["speech"] for g in own for r in g.get("refuse", ())]
    kinds = (
        [v for k, v in words["lines"].items() if k not in guide_choice.METHODS.values()],
        [t["text"] for t in words["not_taught"]],
        [t["speech"] for t in words["not_taught"]],
        [g["end"] for g in own],
        refused,
        spoken,
    )
    for texts in kinds:
        assert reading_grade(re.sub(r"\{\w+\}", "it", "\n".join(texts))) <= HARDEST, texts


def test_speech_holds_no_symbol_or_unfilled_name() -> None:
    for plan, name, step in STEPS:
        assert not re.search(r"[{}%/<>]|mL|\bh\b", step.speech), (plan, name, step.speech)
        assert "{" not in step.text


def test_safety_steps_say_why_and_every_step_has_a_source() -> None:
    for plan, name, step in STEPS:
        assert step.why or not step.must, (plan, name, step.name)
        assert step.source in sources(), (plan, name, step.name)


def test_each_number_in_a_step_is_the_plan_s_or_a_source_s() -> None:
    for plan in PLANS:
        of = night(plan)
        for name in fitting(of):
            for feed in guide_choice.feeds_of(name, of) or (None,):
                made = amounts(of, feed, of.now)
                twelve = of.plan is not None and of.plan.units == "us"
                known = {n for v in made.facts.values() for n in re.findall(r"\d+", plainly(show(v, of.now, twelve)))}
                contacts = vars(of.plan.contacts).values() if of.plan else ()
                known |= {n for c in contacts if c for n in re.findall(r"\d+", c)}
                for step in guides.steps_for(name, of, feed):
                    loose = set(re.findall(r"\d+", step.text)) - known
                    assert loose <= (PRINTED if step.source != "common-practice" else set()), (plan, name, step.text)


@pytest.mark.parametrize("plan", PLANS)
def test_a_guide_without_the_plan_s_numbers_still_has_words(plan: str) -> None:
    of = night(plan)
    assert of.plan is not None
    flushes, kit = replace(of.plan.flushes, volume=None), replace(of.plan.equipment, priming_volume=None, bag=None)
    feeds = tuple(replace(f, rate=None, volume=None, over=None) for f in of.plan.feeds)
    bare = replace(of, plan=replace(of.plan, flushes=flushes, equipment=kit, feeds=feeds, steps=()))
    for name in fitting(bare):
        feed = (guide_choice.feeds_of(name, bare) or (None,))[0]
        steps = guides.steps_for(name, bare, feed)
        assert not {n for s in steps for n in s.figures} & {
            "rate",
            "pour",
            "fills",
            "each",
            "flush",
            "drops",
            "priming",
        }


# -- numbers -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("case", data("amounts", "case"), ids=ids)
def test_figures_of_the_steps(case: dict[str, Any]) -> None:
    of = night(case["plan"], case["at"])
    named = [f for f in of.feeds if f.name == case.get("feed")]
    feed = named[0] if named else (guide_choice.feeds_of(case["guide"], of) or of.feeds[:1])[0]
    steps = guides.steps_for(case["guide"], of, feed)
    found: dict[str, Any] = {}
    for step in steps:
        for name, figure in step.figures.items():
            value = figure.value
            plain_value = value.isoformat() if isinstance(value, datetime) else value.magnitude
            assert found.setdefault(name, plain_value) == plain_value, name
    assert {n: found.get(n) for n in case["figures"]} == case["figures"]
    text = "\n".join(s.text for s in steps)
    assert not [s for s in case["says"] if s not in text], text
    assert not [s for s in case.get("lacks", ()) if s in text], text


@pytest.mark.parametrize(
    ("plan", "question", "name", "guide", "feed"),
    [
        ("child_overnight_pump", "how much do i pour for the overnight feed", "pour", "start_pump_feed", "overnight"),
        ("infant_powder", "how much do i pour for the night feed", "pour", "start_pump_feed", "night"),
        ("adult_syringe", "how many syringes is supper", "fills", "syringe_feed", "supper"),
        ("child_overnight_pump", "how much water is a flush", "flush", "flush", None),
        ("infant_powder", "how much water is a flush", "flush", "flush", None),
    ],
)
def test_steps_say_what_the_assistant_answers(
    plan: str, question: str, name: str, guide: str, feed: str | None
) -> None:
    of = night(plan)
    assert of.plan is not None
    answered = Session(of.plan).say(question, of.now)["figures"][name]["value"]
    steps = guides.steps_for(guide, of, of.plan.feed(feed) if feed else None)
    assert answered in [s.figures[name].value.magnitude for s in steps if name in s.figures]
