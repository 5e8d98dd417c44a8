"""What the page shows, below the server: its words do what their buttons say, an answer comes apart rightly."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from conftest import DEMO, ROOT
from night import opened, say

from assistant import cards
from assistant.channels.serve import main as serve
from assistant.channels.web import facts, shape, state
from assistant.channels.web.day_strip import day_strip
from assistant.channels.web.household import Clock, Household
from assistant.household.care_plan import read_plan
from assistant.night import Night
from assistant.session import Session, instant
from assistant.walk import guides
from assistant.walk.guide_choice import pick_guide
from knowledge.library import FOLDER, check, table

PAGE = table("page_en")
PLANS = sorted(DEMO.glob("*.toml"))
Capture = pytest.CaptureFixture[str]


def night_of(path: Path, at: str = "2026-11-26T02:10") -> Night:
    plan = read_plan(path)
    return Night(plan, instant(at, plan))


def asked(text: str, plan: Path = PLANS[0], at: str = "2026-11-26T02:10") -> tuple[dict[str, Any], Night]:
    night = night_of(plan, at)
    return Session(night.plan, now=night.now).say(text, night.now), night


def test_every_grave_card_stands_once_in_the_list() -> None:
    listed = [name for group in PAGE["wrong"]["groups"] for name in group["cards"]]
    grave = {name for name in cards.names() if cards.card(name)["level"] in ("emergency", "urgent")}
    assert set(listed) == grave and len(listed) == len(grave)


def test_a_card_that_no_group_names_is_a_fault_of_the_knowledge(tmp_path: Path) -> None:
    shutil.copytree(FOLDER, tmp_path / "k", ignore=shutil.ignore_patterns("phrases", "weights", "*.py"))
    file = tmp_path / "k" / "page_en.toml"
    file.write_text(file.read_text(encoding="utf-8").replace('"choking", ', '"chocking", '), encoding="utf-8")
    found = [str(fault) for fault in check(tmp_path / "k") if fault.file == "page_en.toml"]
    assert len(found) == 2 and 'lacks the card "choking"' in found[0] and 'did you mean "choking"' in found[1]


@pytest.mark.parametrize("name", sorted(set(PAGE["guides"]["says"]) - {"feed"}))
def test_a_walk_through_s_button_opens_that_one(name: str) -> None:
    fitting = [night for path in PLANS if not guides.refusal_of(name, night := night_of(path))]
    assert fitting, "no demo household has it"
    for night in fitting:
        assert pick_guide(PAGE["guides"]["says"][name], night).guides == (name,)


@pytest.mark.parametrize("plan", PLANS, ids=lambda path: path.stem)
def test_every_button_of_the_walk_throughs_gives_a_first_step(plan: Path) -> None:
    night = night_of(plan)
    household = Household(None, night.plan, Clock(night.now))
    buttons = facts.walk_throughs(household)["guides"]
    assert len(buttons) >= 8
    for button in buttons:
        record = Session(night.plan, now=night.now).say(button["says"], night.now)
        parts = shape.answers(record, night)
        assert "".join(p["text"] for p in parts[0]["lead"]).startswith("Step 1 of"), (button, record["text"])


@pytest.mark.parametrize("plan", PLANS, ids=lambda path: path.stem)
def test_every_tile_is_answered_or_asks_back(plan: Path) -> None:
    for tile in PAGE["tiles"]:
        record, _ = asked(tile["says"], plan)
        assert record["outcome"] in ("answered", "asked_back") and record["intent"] not in ("unclear", "out_of_scope")
        assert "card" not in tile or record["card"].startswith(tile["card"])


def test_the_buttons_write_down_what_they_say(records: Any) -> None:
    session = opened(records)
    kinds = {"start": "feed_started", "Paused": "paused", "On again": "resumed", "Stopped": "stopped",
             "Flushed": "flushed", "Medicine given": "medicine_given", "Was sick": "vomited"}
    says = {b["label"]: b["says"] for b in PAGE["log"]["buttons"]}
    says["start"] = PAGE["log"]["start_says"].format(feed="overnight")
    assert set(says) == set(kinds)
    for n, name in enumerate(("start", "Paused", "On again", "Flushed", "Medicine given", "Was sick", "Stopped")):
        record = say(session, f"25T21:{10 + n}", says[name])
        assert record["outcome"] in ("done", "answered"), (name, record["text"])
        assert session.events[-1].kind == kinds[name], (name, record["text"])
        if name == "start":
            assert session.events[-1].feed == "overnight"


def test_the_buttons_that_remind_set_a_reminder(records: Any) -> None:
    session = opened(records)
    say(session, "25T20:45", "just started the overnight feed at 72 mL/h")
    due = []
    for button in PAGE["reminders"]["buttons"]:
        assert say(session, "25T21:00", button["says"])["outcome"] == "done", button
        due.append(session.reminders[-1]["due"][:16])
    assert due == ["2026-11-26T05:45", "2026-11-26T02:45", "2026-11-25T23:00"]     # its end; 6 h from 20:45; in 2 h


def test_an_answer_comes_apart_and_nothing_is_lost() -> None:
    for text in ("how long will 360 last at 72", "the tube came out", "she is choking", "how long", "when is lunch",
                 "walk me through a feed",
                 "how long will 360 last at 72 and how much water a day"):
        record, night = asked(text)
        shown = []
        for part in shape.answers(record, night):
            pieces = [part["lead"], *part["after"], *(p["text"] for p in part["parts"])]
            pieces += [item for p in part["parts"] for item in p["items"]]
            shown += [f"{n}. {choice['label']}" for n, choice in enumerate(part["choices"], 1)]
            shown += ["".join(piece["text"] for piece in piece_list) for piece_list in pieces] + part["folded"]
        words = re.sub(r"[\s\u00a0]+", " ", " ".join(shown))
        for line in record["text"].split("\n"):
            assert line.removeprefix("- ").strip() in words, (text, line)


def test_a_number_that_plays_no_part_is_left_out_by_its_button() -> None:
    plan = DEMO / "child_overnight_pump.toml"
    night = night_of(plan)
    session = Session(night.plan, now=night.now)
    record = session.say("her grandpa here, 69 and all thumbs. how long does 288 at 72 last", night.now)
    (button,) = shape.choices(record, night)
    assert button["label"] == "Leave it out"
    left_out = session.say(button["says"], night.now)
    assert left_out["outcome"] == "answered" and float(left_out["figures"]["duration"]["value"]) == 4  # 288 / 72


def test_the_working_is_folded_and_a_caution_is_not() -> None:
    record, night = asked("how long will 360 last at 72")
    part = shape.answers(record, night)[0]
    assert [line.split(":")[0].split(" ")[0] for line in part["folded"]] == ["Allowing", "Working", "You", "Source"]
    record, night = asked("the tube came out", DEMO / "child_overnight_pump.toml")
    part = shape.answers(record, night)[0]
    assert part["level"] == "urgent" and part["call"]["to"] == "9025550117"
    assert {p["mark"] for p in part["parts"] if p["items"]} == {"do", "do_not", "tell"}


@pytest.mark.parametrize(("number", "to"), [("902-555-0117", "9025550117"), ("+44 20 7946 0000", "+442079460000")])
def test_a_number_is_dialled_as_it_is_written(number: str, to: str) -> None:
    assert shape.to_dial(number) == to


def test_the_strip_says_what_is_past(records: Any) -> None:
    session = opened(records)
    say(session, "25T20:45", "just started the overnight feed at 72 mL/h")
    plan = session.plan

    def rows(at: str) -> dict[str, str]:
        night = session.night(instant(at, plan))
        return {row["name"]: row["value"] for row in state.state_of(night, None)["strip"]["rows"]}

    assert rows("2026-11-25T22:45")["given"] == "144 mL"                    # 2 h x 72
    assert rows("2026-11-25T22:45")["discard"] == "02:45 tomorrow (Thu 26 Nov), before the feed ends"    # 6 h
    assert rows("2026-11-26T03:00")["discard"] == "02:45, past"
    ended = state.state_of(session.night(instant("2026-11-26T06:00", plan)), None)
    assert ended["strip"]["on"] in ("ended", "running") and ended["strip"]["share"] == 100
    assert state.state_of(session.night(instant("2026-11-26T09:00", plan)), None)["feed"] is None


def test_the_day_as_a_picture_holds_every_feed_of_the_plan() -> None:
    night = night_of(DEMO / "child_overnight_pump.toml")
    made = day_strip(night)
    bars = [(int(x), int(w)) for x, w in re.findall(r'class="feed" x="(\d+)" y="\d+" width="(\d+)"', made)]
    # 12 units an hour: until 05:45 from the night before, 12:15 for 20 min, 16:00 for 40 min, 20:45 to midnight
    assert sorted(bars) == [(0, 69), (147, 4), (192, 8), (249, 39)]
    assert night.plan is not None
    untimed = replace(night.plan, feeds=tuple(replace(feed, start=None) for feed in night.plan.feeds))
    assert day_strip(replace(night, plan=untimed)) == ""


@pytest.mark.parametrize("wrong", [
    ["--port", "99999"], ["--host", "0.0.0.0"], ["--host", "no.such.host.invalid"], ["--now", "soon"],
    ["--plan", "none.toml"], ["--tls-cert", "a.pem"], ["--tls-cert", str(ROOT / "README.md"), "--tls-key", "b.pem"],
    ["--unpair", "x"], ["--nothing"],
])
def test_what_cannot_be_served_is_one_clear_line(wrong: list[str], capsys: Capture, empty_home: Path) -> None:
    assert serve(wrong) == 2
    out, err = capsys.readouterr()
    assert not out and "Traceback" not in err and len(err.strip().splitlines()) <= (12 if wrong == ["--nothing"] else 1)


def test_phones_are_listed_and_let_go_at_the_terminal(capsys: Capture, empty_home: Path, tmp_path: Path) -> None:
    from assistant.channels.web.pairing import Pairing

    home = str(tmp_path / "h")
    assert serve(["--home", home, "--phones"]) == 0 and "No phone" in capsys.readouterr().out
    pairing = Pairing(tmp_path / "h")
    _, token = pairing.pair(pairing.new_code(), "Phone")
    assert serve(["--home", home, "--phones"]) == 0 and "1  Phone" in capsys.readouterr().out
    assert serve(["--home", home, "--unpair", "all"]) == 0 and pairing.knows(token) is None
