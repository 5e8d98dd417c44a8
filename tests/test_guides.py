"""Walk-throughs: every guide for every demonstration household, the numbers in its steps, and moving about in one.

Figures come from the arithmetic in tests/guides/amounts.toml and from the assistant's own answers to the same question.
"""

from __future__ import annotations

import re
import shutil
import tomllib
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from conftest import DEMO

from assistant import actions, dialogue, guide_choice, guides
from assistant.answer import new_tracker
from assistant.guide_amounts import amounts
from assistant.hear import hear
from assistant.hear.plain import plain
from assistant.household.care_plan import read_plan
from assistant.night import Night
from assistant.question import Question
from assistant.reading_grade import reading_grade
from assistant.said import said
from assistant.session import Session, instant
from assistant.show import show
from knowledge.checks.guides import check as check_guides
from knowledge.library import FOLDER, Shelf, check, load, sources, table

HERE = Path(__file__).parent / "guides"
PLANS = tuple(sorted(p.stem for p in DEMO.glob("*.toml")))
MOST_WORDS, MOST_SPOKEN, HARDEST = 20, 35, 6.0
PRINTED = {"30", "45"}  # figures that stand in a source and not in the plan: degrees and minutes


def data(name: str, key: str) -> list[dict[str, Any]]:
    return tomllib.loads((HERE / f"{name}.toml").read_text(encoding="utf-8"))[key]


def night(plan: str | None, at: str = "2026-11-25T20:30") -> Night:
    read = read_plan(DEMO / f"{plan}.toml") if plan else None
    return Night(read, instant(at if read else f"{at}:00+00:00", read))


def plainly(text: str) -> str:
    """Thousands as the steps write them: without a comma, which could be read as a decimal's."""
    return re.sub(r"(?<=\d),(?=\d{3}\b)", "", text)


def fitting(of: Night) -> list[str]:
    methods = {f.method for f in of.feeds}
    named = guide_choice.METHODS
    return [n for n in guides.names() if not guides.refusal_of(n, of) and (n not in named or named[n] in methods)]


def all_steps() -> list[tuple[str, str, guides.Step]]:
    found = []
    for plan in PLANS:
        of = night(plan)
        for name in fitting(of):
            for feed in guide_choice.feeds_of(name, of) or (None,):
                found += [(plan, name, step) for step in guides.steps_for(name, of, feed)]
    return found


STEPS = all_steps()


def ids(entry: Any) -> str:
    return f"{entry.get('plan')}:{entry.get('guide') or entry.get('id') or entry['words']}"


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
