"""`ask` and `replay` from outside: exit codes, the script format, what is written (nothing, with a plan), and --now."""

from __future__ import annotations

import gc
import json
from pathlib import Path

import pytest
from conftest import DEMO

from assistant.cli import main

CHILD = str(DEMO / "child_overnight_pump.toml")
Capture = pytest.CaptureFixture[str]
NIGHT = "2026-11-25T22:00"
QUESTION = "How long will 360 mL last at 72 mL/h?"


def files_below(folder: Path) -> list[Path]:
    return sorted(folder.rglob("*"))


def script(tmp_path: Path, *lines: object) -> str:
    """A file of scripted conversations: objects become a line of JSON, text stays as it is."""
    path = tmp_path / "script.jsonl"
    path.write_text("".join((x if isinstance(x, str) else json.dumps(x)) + "\n" for x in lines), encoding="utf-8")
    return str(path)


# -- ask -----------------------------------------------------------------------------------------------------------


def test_ask_answers_on_standard_output(capsys: Capture, empty_home: Path) -> None:
    assert main(["ask", "--plan", CHILD, "--now", NIGHT, QUESTION]) == 0
    out, err = capsys.readouterr()
    assert "5 h" in out and not err


def test_ask_joins_its_words(capsys: Capture, empty_home: Path) -> None:
    assert main(["ask", "--plan", CHILD, "--now", NIGHT, *QUESTION.split()]) == 0
    assert "5 h" in capsys.readouterr().out


def test_ask_gives_one_record_as_json(capsys: Capture, empty_home: Path) -> None:
    assert main(["ask", "--json", "--plan", CHILD, "--now", NIGHT, QUESTION]) == 0
    record = json.loads(capsys.readouterr().out)
    assert record["heard"] == QUESTION and record["figures"]["duration"] == {
        "value": 5, "unit": "h", "low": pytest.approx(5 / 1.07), "high": pytest.approx(5 / 0.93)}


@pytest.mark.parametrize("text", ["how long", "who won the match", "¿Cuánto dura la bolsa de mi hija?", "", "  "])
def test_asked_back_and_declined_are_exit_code_0(text: str, capsys: Capture, empty_home: Path) -> None:
    assert main(["ask", "--json", "--plan", CHILD, "--now", NIGHT, text]) == 0
    assert json.loads(capsys.readouterr().out)["outcome"] in ("asked_back", "declined")


@pytest.mark.parametrize(
    ("now", "finish"),
    [
        ("2026-11-25T22:00", "2026-11-26T03:00:00-04:00"),
        ("2026-11-25 22:00", "2026-11-26T03:00:00-04:00"),
        ("2026-11-25T22:00:00-04:00", "2026-11-26T03:00:00-04:00"),
        ("2026-11-26T02:00:00+00:00", "2026-11-26T03:00:00-04:00"),
        ("2026-11-26T02:00:00Z", "2026-11-26T03:00:00-04:00"),
        ("2026-11-25T19:00:00-07:00", "2026-11-26T03:00:00-04:00"),
        ("2027-03-14T03:30", "2027-03-14T08:30:00-03:00"),           # the first half hour after the clocks went forward
        ("2026-11-01T01:30-03:00", "2026-11-01T05:30:00-04:00"),     # 06:30 -03:00: the first of two half past ones
        ("2026-11-01T01:30-04:00", "2026-11-01T06:30:00-04:00"),     # the second
    ],
)
def test_now_is_local_without_an_offset(now: str, finish: str, capsys: Capture, empty_home: Path) -> None:
    assert main(["ask", "--json", "--plan", CHILD, "--now", now, QUESTION]) == 0
    assert json.loads(capsys.readouterr().out)["figures"]["finish_at"]["value"] == finish


@pytest.mark.parametrize("now", [
    pytest.param("2027-03-14T02:30"), pytest.param("2026-11-01T01:30"),
    "yesterday", "2026-13-01T00:00", "25:00", "",
])
def test_a_now_that_is_none_is_one_clear_line(now: str, capsys: Capture, empty_home: Path) -> None:
    assert main(["ask", "--plan", CHILD, "--now", now, QUESTION]) == 2
    out, err = capsys.readouterr()
    assert not out and len(err.splitlines()) == 1 and "--now" in err


def test_two_plans_are_a_usage_error(capsys: Capture, empty_home: Path) -> None:
    assert main(["ask", "--plan", CHILD, "--home", str(empty_home), QUESTION]) == 2
    assert "not allowed with" in capsys.readouterr().err


def test_the_last_of_two_plan_options_is_not_taken_silently(capsys: Capture, empty_home: Path) -> None:
    """One plan, then another: it must not answer from either without a word."""
    code = main(["ask", "--plan", CHILD, "--plan", str(DEMO / "infant_powder.toml"), QUESTION])
    assert code == 2 and len(capsys.readouterr().err.strip().splitlines()[-1:]) == 1


@pytest.mark.parametrize("wrong", [["ask"], ["ask", "--nothing", "x"], ["fly"], [], ["replay"], ["card"]])
def test_wrong_usage_is_exit_code_2(wrong: list[str], capsys: Capture) -> None:
    assert main(wrong) == 2
    assert "usage: bagside" in capsys.readouterr().err


def test_after_a_question_no_file_of_the_household_stays_open(tmp_path: Path) -> None:
    """The helper process lives on: over a records file that was put back meanwhile it must not write."""
    from assistant.channels.ask import answer_once
    from assistant.household.home import RECORDS

    home = tmp_path / "home"
    home.mkdir(mode=0o700)
    (home / "plan.toml").write_bytes((DEMO / "child_overnight_pump.toml").read_bytes())
    code, _, err = answer_once("remind me at 23:00 to flush", None, str(home), "2026-11-25T22:00", False)
    assert code == 0 and not err
    names = {path.name for path in home.iterdir()}
    assert RECORDS in names
    assert not any(name.endswith(("-wal", "-shm")) for name in names)     # SQLite leaves these while one is open


def test_with_a_plan_nothing_is_written_anywhere(capsys: Capture, empty_home: Path) -> None:
    for text in (QUESTION, "I just started the overnight feed", "remind me at 23:00 to flush", "she is choking"):
        assert main(["ask", "--plan", CHILD, "--now", NIGHT, text]) == 0
    assert main(["replay", script(empty_home.parent, {"id": 1, "now": NIGHT, "turns": ["started the overnight feed"]}),
                 "--plan", CHILD]) == 0
    assert files_below(empty_home) == []


def test_without_a_household_asking_makes_none(capsys: Capture, empty_home: Path) -> None:
    assert main(["ask", "--home", str(empty_home / "data"), "How long does 300 mL last at 60 mL/h?"]) == 0
    assert main(["ask", "How long does 300 mL last at 60 mL/h?"]) == 0
    assert "5 h" in capsys.readouterr().out and files_below(empty_home) == []


# -- a household ---------------------------------------------------------------------------------------------------


def test_a_household_keeps_what_was_told(capsys: Capture, empty_home: Path) -> None:
    home = str(empty_home / "data")
    assert main(["plan", "use", "--home", home, CHILD]) == 0
    assert main(["ask", "--home", home, "--now", "2026-11-25T20:45", "I just started the overnight feed"]) == 0
    capsys.readouterr()
    assert main(["ask", "--json", "--home", home, "--now", "2026-11-25T23:45", "How much has she had so far?"]) == 0
    assert json.loads(capsys.readouterr().out)["figures"]["delivered"]["value"] == 216      # 3 h x 72


@pytest.mark.parametrize("damage", [b"", b"\x00\x01 not a database", b"SQLite format 3\x00" + b"\xff" * 5000])
def test_damaged_records_are_exit_code_3(damage: bytes, capsys: Capture, empty_home: Path) -> None:
    home = empty_home / "data"
    assert main(["plan", "use", "--home", str(home), CHILD]) == 0
    assert main(["ask", "--home", str(home), "--now", NIGHT, "I just started the overnight feed"]) == 0
    capsys.readouterr()
    gc.collect()            # a connection that is still open would write its pages back over the damage
    for other in home.glob("household.db-*"):
        other.unlink()
    (home / "household.db").write_bytes(damage)
    code = main(["ask", "--home", str(home), "--now", NIGHT, QUESTION])
    out, err = capsys.readouterr()
    if damage:
        assert code == 3 and len(err.splitlines()) == 1
        assert "lasts 5 h" in out and "rests on the care plan" in out       # the plan's answer all the same
        assert (home / "household.db").read_bytes() == damage       # what could not be read is not overwritten
    else:
        assert code in (0, 3) and "Traceback" not in err


def test_a_damaged_plan_in_use_is_exit_code_2(capsys: Capture, empty_home: Path) -> None:
    home = empty_home / "data"
    assert main(["plan", "use", "--home", str(home), CHILD]) == 0
    (home / "care_plan.toml").write_text('rout = "gastrostomy"\n')
    assert main(["ask", "--home", str(home), QUESTION]) == 2
    assert "rout" in capsys.readouterr().err


def test_a_home_that_is_a_file_is_exit_code_3(capsys: Capture, empty_home: Path) -> None:
    (empty_home / "data").write_text("not a folder")
    assert main(["ask", "--home", str(empty_home / "data"), QUESTION]) == 3
    assert len(capsys.readouterr().err.splitlines()) == 1


# -- replay --------------------------------------------------------------------------------------------------------


def test_replay_gives_a_line_a_turn(tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "plan.toml").write_text(Path(CHILD).read_text(encoding="utf-8"), encoding="utf-8")
    log = [{"at": "2026-11-25T20:45", "event": "feed_started", "rate": "72 mL/h", "feed": "overnight"}]
    file = script(tmp_path, {"id": "a", "now": "2026-11-25T23:45", "plan": "plan.toml", "log": log,
                             "turns": ["How much has she had so far?", "why?"]}, "",
                  {"id": "b", "now": "2026-11-25T22:00-05:00", "turns": ["hello"]})
    assert main(["replay", file, "--json"]) == 0
    lines = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert [(x["id"], x["turn"], x["intent"]) for x in lines] == [("a", 1, "delivered"), ("a", 2, "explain"),
                                                                   ("b", 1, "greet")]
    assert lines[0]["figures"]["delivered"]["value"] == 216         # 3 h x 72 mL/h


def test_replay_shows_people_the_talk(tmp_path: Path, capsys: Capture) -> None:
    file = script(tmp_path, {"id": 1, "now": NIGHT, "turns": [QUESTION]})
    assert main(["replay", file, "--plan", CHILD]) == 0
    assert capsys.readouterr().out.startswith(f"> {QUESTION}\nThe bag lasts 5 h")


def test_the_scripts_own_plan_goes_before_the_one_given(tmp_path: Path, capsys: Capture) -> None:
    file = script(tmp_path, {"id": 1, "now": NIGHT, "plan": str(DEMO / "adult_jejunal_cycle.toml"),
                             "turns": ["How long will 840 mL last?"]})
    assert main(["replay", file, "--plan", CHILD, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["figures"]["duration"]["value"] == 10        # 840 / 84


GOOD = {"id": "good", "now": NIGHT, "turns": ["hello"]}


@pytest.mark.parametrize(
    "bad",
    [
        "{", "not json at all",
        *(pytest.param(text) for text in ("[]", "7", '"text"', "null")),
        {"id": 1, "now": NIGHT},
        {"id": 1, "turns": ["hello"]},
        {"now": NIGHT, "turns": ["hello"]},
        {"id": 1, "now": "soon", "turns": ["hello"]},
        {"id": 1, "now": NIGHT, "turns": 7},
        {"id": 1, "now": NIGHT, "plan": "no_such_plan.toml", "turns": ["hello"]},
        {"id": 1, "now": NIGHT, "plan": 7, "turns": ["hello"]},
        {"id": 1, "now": NIGHT, "turns": ["hello"], "log": [{"event": "flushed"}]},
        {"id": 1, "now": NIGHT, "turns": ["hello"], "log": [{"at": NIGHT, "event": "flushed", "volume": "4 eggs"}]},
        {"id": 1, "now": NIGHT, "turns": ["hello"], "log": [{"at": NIGHT, "event": "flushed", "volume": 40}]},
        pytest.param(
            {"id": 1, "now": NIGHT, "turns": ["hello"], "log": [{"at": NIGHT, "event": "flown"}]}),
        pytest.param({"id": 1, "now": NIGHT, "turns": ["hello"], "log": "started"}),
        pytest.param({"id": 1, "now": NIGHT, "turns": "hello"}),
    ],
    ids=lambda bad: (bad if isinstance(bad, str) else json.dumps(bad))[-60:],
)
def test_a_bad_line_is_one_message_and_the_others_are_played(bad: object, tmp_path: Path, capsys: Capture) -> None:
    file = script(tmp_path, GOOD, bad, {**GOOD, "id": "after"})
    assert main(["replay", file, "--plan", CHILD, "--json"]) == 2
    out, err = capsys.readouterr()
    assert [json.loads(line)["id"] for line in out.splitlines()] == ["good", "after"]
    assert len(err.splitlines()) == 1 and "Traceback" not in err


@pytest.mark.parametrize("content", [None, b"\xff\xfe\x00broken", b""])
def test_a_script_that_cannot_be_read(content: bytes | None, tmp_path: Path, capsys: Capture) -> None:
    path = tmp_path / "script.jsonl"
    if content is not None:
        path.write_bytes(content)
    code = main(["replay", str(path)])
    out, err = capsys.readouterr()
    assert (code, out) == (0 if content == b"" else 2, "") and len(err.splitlines()) == code // 2
