"""`bagside plan check | show | new | use`: exit codes, one line a fault, nothing overwritten unasked."""

from __future__ import annotations

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.channels.plan_commands import main
from assistant.household import read_plan
from assistant.household.plan_interview import Interview
from assistant.household.plan_keys import SECTIONS, inner_tables
from assistant.household.plan_words import words
from rules.quantity import qty

DEMO = Path(__file__).parent.parent / "demo"
SYRINGE = str(DEMO / "adult_syringe.toml")
Capture = pytest.CaptureFixture[str]


def typed(monkeypatch: pytest.MonkeyPatch, file: Path, *answers: str) -> int:
    monkeypatch.setattr("sys.stdin", io.StringIO("".join(f"{answer}\n" for answer in answers)))
    return main(["new", str(file)])


#: answers to the questions up to the first feed: route, zone, units, issued, review, goal, then the formula's six
START = ("gastrostomy", "Europe/Oslo", "metric", "", "", "", "", "1.1 kcal/mL", "", "", "", "")
FEED = ("night", "pump", "20:00", "70 mL/h", "700 mL", "")
NO_MORE = ("no",) * 9         # another feed; person, tube, limits, steps, flushes, equipment, supplies, contacts


def test_good_plans_are_said_to_be_good(capsys: Capture) -> None:
    assert main(["check", *sorted(str(path) for path in DEMO.glob("*.toml"))]) == 0
    lines = [line for line in capsys.readouterr().out.splitlines() if ": good." in line]
    assert len(lines) == 4


def test_every_fault_of_every_file_is_one_line(tmp_path: Path, capsys: Capture) -> None:
    bad = tmp_path / "bad.toml"
    bad.write_text('rout = "gastrostomy"\n[formula]\nenergy = 1.1\n')
    assert main(["check", str(bad), SYRINGE, str(tmp_path / "none.toml")]) == 2
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) == 7
    assert f'{bad}: rout: found "gastrostomy"; a care plan has no such key here; did you mean route?' in lines
    assert any(line.startswith(f"{bad}: formula.energy: found 1.1; ") and '"1.2 kcal/mL"' in line for line in lines)


def test_a_file_name_cannot_write_to_the_terminal(capsys: Capture) -> None:
    assert main(["check", "no\x1b[2Jsuch\nplan.toml"]) == 2
    out = capsys.readouterr().out
    assert "\x1b" not in out and out.count("\n") == 1


@pytest.mark.parametrize("argv", [[], ["eat"], ["check"], ["show", "--plan", "a", "--home", "b"], ["use"]])
def test_wrong_usage_gives_two(argv: list[str], capsys: Capture) -> None:
    assert main(argv) == 2
    assert "usage" in capsys.readouterr().err


def test_help_gives_zero(capsys: Capture) -> None:
    assert main(["--help"]) == 0
    assert "check" in capsys.readouterr().out


def test_show_shows_every_key(capsys: Capture) -> None:
    assert main(["show", "--plan", str(DEMO / "adult_jejunal_cycle.toml")]) == 0
    out = capsys.readouterr().out
    for text in ("148 lb (67.13 kg)", "2250 mL (76.1 fl oz)", "every 4 h", "8 days", "602-555-0129", "11:30"):
        assert text in out


def test_show_as_json_is_one_line(capsys: Capture) -> None:
    assert main(["show", "--json", "--plan", str(DEMO / "child_overnight_pump.toml")]) == 0
    out = capsys.readouterr().out
    record = json.loads(out)
    assert out.count("\n") == 1
    assert record["plan"]["steps"][0] == {"from": "2026-11-03T20:45:00-04:00", "rate": "60 mL/h"}


def test_a_plan_long_past_its_review_is_shown_with_a_warning(tmp_path: Path, capsys: Capture) -> None:
    old = tmp_path / "old.toml"
    old.write_text('route = "gastrostomy"\ntimezone = "Europe/Oslo"\nreview_by = 2001-01-01\n'
                   'formula.energy = "1 kcal/mL"\nfeeds = [{method = "pump", rate = "70 mL/h"}]\n')
    assert main(["show", "--plan", str(old), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["warnings"] == ["past_review"]
    assert main(["check", str(old)]) == 0
    assert "2001-01-01" in capsys.readouterr().out


def test_a_plan_in_use_is_shown(tmp_path: Path, capsys: Capture) -> None:
    home = str(tmp_path / "home")
    assert main(["show", "--home", home]) == 2
    assert "plan new" in capsys.readouterr().err
    assert main(["use", SYRINGE, "--home", home]) == 0
    assert main(["use", str(DEMO / "infant_powder.toml"), "--home", home]) == 0
    assert "earlier_plans" in capsys.readouterr().out
    assert main(["show", "--home", home]) == 0
    assert "Pip" in capsys.readouterr().out


def test_a_home_that_cannot_be_used_gives_three(tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "file").write_text("x")
    for argv in (["use", SYRINGE, "--home", str(tmp_path / "file")], ["show", "--home", str(tmp_path / "file")],
                 ["use", SYRINGE, "--home", str(tmp_path / "file" / "below")]):
        assert main(argv) == 3
        assert capsys.readouterr().err.count("\n") == 1


def test_a_bad_plan_is_not_taken_into_use(tmp_path: Path, capsys: Capture) -> None:
    assert main(["use", str(tmp_path / "none.toml"), "--home", str(tmp_path / "home")]) == 2
    assert not (tmp_path / "home").exists()
    assert "no such file" in capsys.readouterr().err


def test_a_new_plan_is_written_as_answered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    file = tmp_path / "new.toml"
    assert typed(monkeypatch, file, *START, *FEED, "yes", "noon", "syringe", "12:00", "120 mL", "15 min",
                 *NO_MORE, "yes") == 0
    plan = read_plan(file)
    assert [(feed.name, feed.method, feed.rate) for feed in plan.feeds] == [
        ("night", "pump", qty(70, "mL/h")), ("noon", "syringe", None)]
    assert plan.formula.name is None and plan.issued is None
    assert file.stat().st_mode & 0o777 == 0o600
    out = capsys.readouterr().out
    assert "I read: 70 mL/h" in out and "Left out." in out


def test_every_section_can_be_answered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "new.toml"
    examples = words()["examples"]
    interview, answers = Interview(), []
    while (question := interview.next()) is not None:
        said = "yes" if question.path.endswith(".gate") else "no" if question.gate else question.example
        if question.path == "formula.form":
            said = "powder"
        answers.append("no" if question.path == "limits.family_may_change_rate" else said)
        interview.answer(question, answers[-1])
    assert typed(monkeypatch, file, *answers, "yes") == 0
    plan = read_plan(file)
    assert plan.formula.recipe is not None and plan.equipment.battery_at == qty(125, "mL/h")
    assert plan.steps[0].rate == qty(40, "mL/h") and plan.limits.family_may_change_rate is False
    asked = {entry["key"] for entry in words()["question"]}
    known = {f"{section}.{key}" if section else key for section, keys in SECTIONS.items() for key in keys}
    assert known <= asked and known <= set(examples) and inner_tables("formula") == {"recipe": "formula.recipe"}


def test_an_answer_that_cannot_be_read_is_asked_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                                      capsys: Capture) -> None:
    file = tmp_path / "new.toml"
    assert typed(monkeypatch, file, "", "stomach", "gastrostom", *START[:7], "1,1 kcal/mL", "1.1", "11 kcal/mL",
                 *START[7:], *FEED, "perhaps", *NO_MORE, "yes") == 0
    out = capsys.readouterr().out
    assert "This one is needed." in out and "Did you mean gastrostomy?" in out
    assert "comma" in out and "needs its unit" in out and "between" in out and "yes or no" in out
    assert read_plan(file).formula.energy == qty("1.1", "kcal/mL")


def test_back_goes_to_the_question_before(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    file = tmp_path / "new.toml"
    assert typed(monkeypatch, file, "back", "jejunostomy", "Back", *START, *FEED[:4], "back", "60 mL/h",
                 "600 mL", "", *NO_MORE, "yes") == 0
    assert read_plan(file).route == "gastrostomy"
    assert read_plan(file).feeds[0].rate == qty(60, "mL/h")
    assert "first question" in capsys.readouterr().out


def test_answers_that_clash_are_asked_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
    file = tmp_path / "new.toml"
    assert typed(monkeypatch, file, *START, "night", "pump", "20:00", "70 mL/h", "900 mL", "10 h", *NO_MORE,
                 "70 mL/h", "750 mL", "10 h", "yes") == 2               # clashes still
    assert not file.exists()
    assert typed(monkeypatch, file, *START, "night", "pump", "20:00", "70 mL/h", "900 mL", "10 h", *NO_MORE,
                 "70 mL/h", "700 mL", "10 h", "yes") == 0
    assert "cannot all be true" in capsys.readouterr().out
    assert read_plan(file).feeds[0].volume == qty(700, "mL")


@pytest.mark.parametrize("answers", [(), START, (*START, "stop"), (*START, *FEED, *NO_MORE),
                                     (*START, *FEED, *NO_MORE, "no")])
def test_an_early_end_writes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture,
                                     answers: tuple[str, ...]) -> None:
    assert typed(monkeypatch, tmp_path / "new.toml", *answers) == 2
    assert list(tmp_path.iterdir()) == []
    assert "Nothing was written." in capsys.readouterr().out


def test_a_file_that_is_there_is_replaced_only_on_a_yes(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = tmp_path / "new.toml"
    file.write_text("mine")
    assert typed(monkeypatch, file, "no") == 2
    assert typed(monkeypatch, file) == 2
    assert file.read_text() == "mine"
    assert typed(monkeypatch, file, "yes", *START, *FEED, *NO_MORE, "yes") == 0
    assert read_plan(file).route == "gastrostomy"
    assert [path.name for path in tmp_path.iterdir()] == ["new.toml"]


def test_a_file_that_appears_meanwhile_is_left(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                               capsys: Capture) -> None:
    file = tmp_path / "new.toml"

    def appears(self: Interview) -> str:
        file.write_text("mine")
        return 'route = "gastrostomy"\n'

    monkeypatch.setattr(Interview, "text", appears)
    assert typed(monkeypatch, file, *START, *FEED, *NO_MORE, "yes") == 2
    assert file.read_text() == "mine" and [path.name for path in tmp_path.iterdir()] == ["new.toml"]
    assert "appeared" in capsys.readouterr().out


def test_a_place_that_cannot_be_written_is_said_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
                                                      capsys: Capture) -> None:
    for file in (tmp_path, tmp_path / "none" / "new.toml"):
        assert typed(monkeypatch, file, *START) == 2
        assert "cannot be written" in capsys.readouterr().out


def test_checking_and_showing_load_nothing_heavy() -> None:
    script = ("import sys\nfrom assistant.channels.plan_commands import main\n"
              f"main(['check', {SYRINGE!r}]); main(['show', '--plan', {SYRINGE!r}])\n"
              "print({'spacy', 'pint', 'sqlite_utils', 'rasa_sdk', 'numpy'} & set(sys.modules))")
    done = subprocess.run([sys.executable, "-c", script], cwd=DEMO.parent, capture_output=True, text=True,
                          timeout=60, check=True)
    assert done.stdout.splitlines()[-1] == "set()"
