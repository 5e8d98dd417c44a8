"""Practice: what counts as said, settings with slips from a seed, and the trainer's page. No score is a certificate."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest
from conftest import DEMO

from assistant.channels import practise
from assistant.cli import main
from assistant.household.care_plan import read_plan
from assistant.night import Night
from assistant.paper.reading_grade import reading_grade
from assistant.session import instant
from assistant.walk import guides, practice
from assistant.walk.guides import Step
from knowledge.library import table
from rules.calculators.check_settings import check_settings
from rules.quantity import qty

PLANS = tuple(sorted(p.stem for p in DEMO.glob("*.toml")))
RATE, VOLUME = qty(72, "mL/h"), qty(648, "mL")


def night(plan: str) -> Night:
    read = read_plan(DEMO / f"{plan}.toml")
    return Night(read, instant("2026-11-25T20:30", read))


def step(
    name: str, plan: str = "child_overnight_pump", guide: str = "start_pump_feed", feed: str = "overnight"
) -> Step:
    of = night(plan)
    assert of.plan is not None
    return next(s for s in guides.steps_for(guide, of, of.plan.feed(feed)) if s.name == name)


# -- what counts as said ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "said", "mark"),
    [
        ("hands", "wash my hands", "said"),
        ("hands", "scrub my hands with soap", "said"),
        ("hands", "shake it", "not_yet"),
        ("pour", "pour 450 mls in the bag", "said"),
        ("pour", "pour four hundred and fifty in", "said"),
        ("pour", "pour the feed into the bag", "amount"),
        ("pour", "pour 540 in the bag", "amount"),
        ("rate", "set the rate to 72", "said"),
        ("rate", "set the speed to seventy two", "said"),
        ("rate", "set the rate to 27", "amount"),
        ("volume_limit", "volume limit six hundred and forty eight", "said"),
        ("volume_limit", "set the volume limit to 64.8", "amount"),
        ("trace", "trace the tubing back", "said"),
        ("prime", "prime the line off her", "said"),
        ("first_look", "um", "not_yet"),
        ("discard", "bin what is left", "said"),
    ],
)
def test_what_counts_as_said(name: str, said: str, mark: str) -> None:
    assert practice.heard_step(said, step(name)) == mark


@pytest.mark.parametrize("plan", PLANS)
def test_each_step_s_own_words_count_and_nothing_at_all_never_does(plan: str) -> None:
    of = night(plan)
    for name in practise.fitting(of):
        for feed in of.feeds:
            for one in guides.steps_for(name, of, feed):
                assert practice.heard_step(one.text, one) == "said", (name, one.text)
                assert practice.heard_step("", one) == practice.heard_step("i do that now", one) == "not_yet"


# -- drills ----------------------------------------------------------------------------------------------------------


def test_the_same_seed_gives_the_same_drills_and_another_gives_others() -> None:
    assert practice.drills(RATE, VOLUME, 7) == practice.drills(RATE, VOLUME, 7)
    assert len({tuple(d.code for d in practice.drills(RATE, VOLUME, seed)) for seed in range(12)}) > 6


@pytest.mark.parametrize("seed", range(25))
def test_every_slip_is_one_that_the_settings_check_finds(seed: int) -> None:
    """The drill's verdict against the calculator that the assistant answers with."""
    wanted = {
        "point": {"tenfold", "tenth"},
        "volume_point": {"tenfold", "tenth"},
        "swapped": {"swapped"},
        "digits": {"digit_swap"},
        "right": set(),
    }
    for drill in practice.drills(RATE, VOLUME, seed):
        if "heard" in drill.facts:
            continue
        shown = {n: qty(drill.facts[n], u) for n, u in (("rate", "mL/h"), ("volume", "mL"))}
        outcome = check_settings(**shown, plan_rate=RATE, plan_volume=VOLUME)
        assert outcome.figures["matches"].value is drill.right
        found = {code for code, _ in outcome.facts["slips"].values()} if not drill.right else set()
        assert bool(found) is not drill.right and found <= wanted[drill.code], (drill, found)


@pytest.mark.parametrize("seed", range(25))
def test_each_set_of_drills_has_right_ones_every_kind_of_slip_and_a_pair_that_sounds_alike(seed: int) -> None:
    found = practice.drills(RATE, VOLUME, seed)
    codes = [d.code for d in found]
    assert sorted(codes) == sorted(
        ["right", "right", "point", "volume_point", "swapped", "digits", "alike", "alike_right"]
    )
    pair = {d.code: (d.facts["heard"], d.facts["shown"]) for d in found if "heard" in d.facts}
    teens = {
        "thirteen": 30,
        "fourteen": 40,
        "fifteen": 50,
        "sixteen": 60,
        "seventeen": 70,
        "eighteen": 80,
        "nineteen": 90,
    }
    heard, shown = pair["alike"]
    assert shown == teens[heard] and pair["alike_right"] == (heard, Decimal(shown) / 10 + 10)


def test_a_slip_that_would_show_the_plan_s_own_numbers_is_left_out() -> None:
    found = [d.code for d in practice.drills(qty(55, "mL/h"), qty(55, "mL"), 1)]
    assert "digits" not in found and "swapped" not in found


# -- the command -----------------------------------------------------------------------------------------------------


def played(monkeypatch: pytest.MonkeyPatch, answers: list[str], *args: str) -> int:
    lines = iter(answers)

    def answer(prompt: str = "") -> str:
        print(prompt, end="")
        try:
            return next(lines)
        except StopIteration:
            raise EOFError from None

    monkeypatch.setattr("builtins.input", answer)
    return main(["practise", *args, "--now", "2026-11-25T20:30"])


def test_a_practice_is_recorded_step_by_step_for_the_trainer(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    out = tmp_path / "p.html"
    answers = ["wash hands", "why", "pass", "shake it", "pour it in the bag", "stop"]
    plan = str(DEMO / "child_overnight_pump.toml")
    assert played(monkeypatch, answers, "start_pump_feed", "--plan", plan, "--out", str(out)) == 0
    shown = capsys.readouterr().out
    assert "Step 4: Pour 450 mL" in shown and "Its amount is 450" in shown and "Why: " in shown
    assert "Said before it was shown: 2 of 4. For the trainer: 2, 4" in shown
    assert "no certificate" in shown
    page = re.sub("&nbsp;", " ", out.read_text(encoding="utf-8"))
    for text in (
        "dry them. [said]",
        "[said, amount not]",
        "[not yet]",
        "72 mL/h",
        "648 mL",
        "no certificate",
        "Trainer:",
    ):
        assert text in page, text
    assert page.count("<li>") > 25  # every step stands on it, practised or not


def test_the_step_is_shown_only_after_the_learner_spoke(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    played(monkeypatch, ["pass", "stop"], "flush", "--plan", str(DEMO / "adult_syringe.toml"))
    shown = capsys.readouterr().out
    assert shown.index("Step 1 of") < shown.index("Step 1: Wash") and "Step 2: " not in shown


def test_a_danger_during_practice_is_heard_first(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    played(monkeypatch, ["she is choking", "stop"], "flush", "--plan", str(DEMO / "child_overnight_pump.toml"))
    shown = capsys.readouterr().out
    assert "911" in shown and shown.index("911") < shown.index("Step 1: Wash")


def test_settings_are_judged_and_told(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    drills = practice.drills(RATE, VOLUME, 5)
    answers = ["right" if d.right else "wrong" for d in drills]
    answers[2:3] = ["hm", "wrong" if drills[2].right else "right"]
    plan = str(DEMO / "child_overnight_pump.toml")
    assert played(monkeypatch, answers, "settings", "--seed", "5", "--plan", plan) == 0
    shown = capsys.readouterr().out
    assert "Seen as they are: 7 of 8" in shown and "no certificate" in shown and "say right or wrong" in shown


@pytest.mark.parametrize(
    ("plan", "args", "told"),
    [
        ("adult_jejunal_cycle", ["syringe_feed"], "bowel"),
        ("adult_syringe", ["start_pump_feed"], "no feed by pump"),
        ("adult_syringe", ["settings"], "no settings"),
        ("adult_syringe", ["flusch"], "Nearest: flush"),
        ("adult_syringe", ["syringe_feed", "--feed", "tea"], "lunch"),
        ("infant_powder", ["syringe_feed"], "no feed by syringe"),
        ("adult_syringe", ["flush", "--out", "/no/such/folder/x"], "cannot be written"),
    ],
)
def test_what_cannot_be_practised_says_why(
    plan: str, args: list[str], told: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert played(monkeypatch, [], *args, "--plan", str(DEMO / f"{plan}.toml")) == 2
    err = capsys.readouterr().err
    assert told in err and "Traceback" not in err


def test_without_a_name_the_ones_that_fit_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["practise", "--plan", str(DEMO / "adult_syringe.toml")]) == 2
    shown = capsys.readouterr().out
    assert "syringe_feed" in shown and "start_pump_feed" not in shown and "settings" not in shown


def test_the_words_are_easy_to_read() -> None:
    words = table(practice.WORDS)
    lines = [*words["says"].values(), *words["slips"].values(), *words["page"].values()]
    assert reading_grade(re.sub(r"\{[\w:<]+\}", "it", "\n".join(lines))) <= 6
