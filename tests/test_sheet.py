"""The household's printed page: the plan's numbers and no others, today's times, when to call, and its QR code."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta
from html.parser import HTMLParser
from pathlib import Path

import pytest
from conftest import DEMO

from assistant.cli import main
from assistant.household.care_plan import read_plan
from assistant.night import Night
from assistant.paper import sheet
from assistant.paper.reading_grade import reading_grade
from assistant.session import Session, instant
from knowledge.library import table

PLANS = tuple(sorted(p.stem for p in DEMO.glob("*.toml")))
AT = "2026-11-25T18:00"
PAGE = "http://bagside.local:8080/"


def night(plan: str, at: str = AT) -> Night:
    read = read_plan(DEMO / f"{plan}.toml")
    return Night(read, instant(at, read))


class Seen(HTMLParser):
    """The page's tags and its words."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.words: list[str] = []
        self.fetched: list[str] = []
        self._quiet = 0
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self._quiet += tag == "style"
        self.fetched += [str(v) for k, v in attrs if k in ("src", "href", "data", "action")]

    def handle_endtag(self, tag: str) -> None:
        self._quiet -= tag == "style"

    def handle_data(self, data: str) -> None:
        if not self._quiet:
            self.words.append(data.replace("\N{NO-BREAK SPACE}", " "))


def text_of(plan: str, at: str = AT) -> str:
    return "\n".join(Seen(sheet.household_sheet(night(plan, at))).words)


@pytest.mark.parametrize("plan", PLANS)
def test_nothing_is_fetched_or_run(plan: str) -> None:
    seen = Seen(sheet.household_sheet(night(plan), PAGE))
    assert not seen.fetched and "script" not in seen.tags and "svg" in seen.tags
    assert not re.search(
        r"url\(|@import|https?://(?!bagside\.local|www\.w3\.org)", sheet.household_sheet(night(plan), PAGE)
    )


# The plan's own numbers, and sums shown: 72 x 6 h are not on it; 200 mL x 15 drops / 40 min = 75.
HOLDS = {
    "child_overnight_pump": [
        "72 mL/h",
        "volume limit 648 mL",
        "200 mL in 20 min, 4 fills",
        "75 drops a minute",
        "Emergency: 911",
        "902-555-0117",
        "902-555-0163",
        "20:45",
        "05:45 overnight ends",
        "May hang 6 h",
        "Flush: 20 mL",
        "55 mL/h to 80 mL/h",
        "Balloon water: 4 mL",
    ],
    "infant_powder": [
        "45 mL/h",
        "volume limit 360 mL",
        "6 level scoops in 180 mL of water makes 200 mL",
        "83 drops a minute",
        "May hang 2 h",
        "38 cm outside",
        "Nose tube came out",
        "Emergency: 112",
    ],
    "adult_syringe": ["330 mL in 25 min, 6 fills", "495 mL in 1 h", "Emergency: 111", "Tube mark: 4 cm outside"],
    "adult_jejunal_cycle": [
        "84 mL/h",
        "volume limit 1344 mL",
        "Low blood sugar",
        "Bowel tube came out",
        "every 4 h while the feed runs",
        "9:00 am cycle ends",
        "Pump battery: 24 h at 125 mL/h",
    ],
}
LACKS = {
    "child_overnight_pump": ["Nose tube", "Bowel tube", "Low blood sugar", "New tube"],
    "infant_powder": ["Stomach tube", "New tube", "Balloon", "30 degrees"],
    "adult_syringe": ["drops a minute", "Pump", "pump"],  # 165 drops a minute cannot be counted
    "adult_jejunal_cycle": ["1,344", "Stomach tube", "gravity", "fills"],
}


@pytest.mark.parametrize("plan", PLANS)
def test_the_sheet_holds_this_plan_s_numbers(plan: str) -> None:
    text = text_of(plan)
    assert not [h for h in HOLDS[plan] if h not in text], text
    assert not [h for h in LACKS[plan] if h in text], text


@pytest.mark.parametrize("plan", PLANS)
def test_today_s_times_are_those_that_the_assistant_answers(plan: str) -> None:
    of = night(plan)
    said = Session(of.plan).say("what is the timetable for today", of.now)["text"]
    clock = r"\b\d{1,2}:\d\d(?: [ap]m)?"
    rows = sheet.today_lines(of)
    assert {t for row in rows for t in re.findall(clock, row)} == set(re.findall(clock, said.split("Working:")[0]))
    assert len(rows) >= 4


def test_an_ordered_step_shows_its_rate_and_no_end_that_it_has_moved() -> None:
    """By the plan the pump runs at 66 from 10 November; the feed's written 72 and its end are not printed."""
    text = text_of("child_overnight_pump", "2026-11-12T18:00")
    assert "66 mL/h" in text and "overnight ends" not in text and "Rate from" in text
    assert not [line for line in text.splitlines() if "72 mL/h" in line and "Rate from" not in line]


def test_a_gap_in_the_plan_is_left_open_and_not_filled() -> None:
    of = night("child_overnight_pump")
    assert of.plan is not None
    feeds = tuple(replace(f, rate=None, volume=None, over=None) for f in of.plan.feeds)
    bare = replace(of.plan, feeds=feeds, steps=(), contacts=replace(of.plan.contacts, nurse_line=None, emergency=None))
    text = "\n".join(Seen(sheet.household_sheet(replace(of, plan=bare))).words)
    assert "ask the nurse line" in text and "write it here" in text and "your local emergency number" in text
    assert not re.search(r"\b(?:72|648|200)\b", text)


def test_a_plan_past_its_review_says_so() -> None:
    assert "past its review day" in text_of("infant_powder", "2026-12-28T18:00")


def test_names_from_the_plan_are_escaped() -> None:
    of = night("adult_syringe")
    assert of.plan is not None
    plan = replace(of.plan, person=replace(of.plan.person, nickname='<b onload="x">'))
    assert "<b onload" not in sheet.household_sheet(replace(of, plan=plan))


def test_cards_on_the_sheet_exist_and_fit_every_level() -> None:
    from assistant import cards

    shown = table(sheet.WORDS)["cards"]
    assert set(shown["show"]) <= set(cards.names()) and set(shown["only"]) <= set(shown["show"])


def test_the_words_are_easy_to_read() -> None:
    words = table(sheet.WORDS)
    lines = [*words["page"].values(), *(x["text"] for x in words["kit"]["lines"]), *words["command"].values()]
    assert reading_grade(re.sub(r"\{\w+\}", "it", "\n".join(lines))) <= 6


# -- the code ------------------------------------------------------------------------------------------------------


def test_the_code_is_square_with_a_quiet_zone_and_holds_the_address() -> None:
    """ISO/IEC 18004 from memory: a symbol of 21 + 4n modules a side, and 4 modules of quiet zone round it."""
    import segno

    made = segno.make(PAGE, error="q", micro=False)
    side = made.symbol_size(border=0)[0]
    assert (side - 21) % 4 == 0 and made.symbol_size(border=4)[0] == side + 8
    svg = sheet.household_sheet(night("adult_syringe"), PAGE)
    assert f'width="{(side + 8) * 3}"' in svg and f"<title>{PAGE}</title>" in svg


@pytest.mark.parametrize(
    "bad", ["ftp://x", "bagside.local", "http://", "http://a b", "javascript:alert(1)", "http://x" * 60]
)
def test_an_address_that_is_none_is_refused_in_one_line(bad: str, capsys: pytest.CaptureFixture[str]) -> None:
    code = main(["sheet", "--plan", str(DEMO / "adult_syringe.toml"), "--page-url", bad])
    err = capsys.readouterr().err
    assert code == 2 and len(err.strip().splitlines()) == 1 and "http" in err


# -- the command ---------------------------------------------------------------------------------------------------


def test_the_command_writes_a_whole_page(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "sheet.html"
    assert main(["sheet", "--plan", str(DEMO / "adult_syringe.toml"), "--now", AT, "--out", str(out)]) == 0
    assert str(out) in capsys.readouterr().out
    assert out.read_text(encoding="utf-8").startswith("<!doctype html>") and (out.stat().st_mode & 0o077) == 0
    assert main(["sheet", "--plan", str(DEMO / "adult_syringe.toml"), "--now", AT]) == 0
    assert capsys.readouterr().out.strip() == out.read_text(encoding="utf-8").strip()


@pytest.mark.parametrize(
    "args",
    [
        ["--plan", "no/such/plan.toml"],
        ["--plan", str(DEMO / "start")],
        ["--now", "yesterday"],
        ["--out", "/no/such/folder/x"],
    ],
)
def test_bad_input_gets_one_message_and_no_traceback(
    args: list[str], empty_home: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    given = args if "--plan" in args else ["--plan", str(DEMO / "adult_syringe.toml"), *args]
    assert main(["sheet", *given]) == 2
    err = capsys.readouterr().err
    assert err.strip() and "Traceback" not in err


def test_without_a_plan_it_says_how_to_write_one(empty_home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["sheet"]) == 2
    assert "bagside plan new" in capsys.readouterr().err


def test_a_long_plan_is_set_smaller_so_that_it_stays_one_page() -> None:
    of = night("adult_syringe")
    assert of.plan is not None and 'class="large"' in sheet.household_sheet(of)
    more = tuple(replace(f, name=f"{f.name} {i}", start=_later(f.start, i)) for i in range(3) for f in of.plan.feeds)
    assert 'class="dense"' in sheet.household_sheet(replace(of, plan=replace(of.plan, feeds=more)))


def _later(start: object, minutes: int) -> object:
    assert start is not None
    return (datetime.combine(datetime(2026, 1, 1), start) + timedelta(minutes=minutes)).time()  # type: ignore[arg-type]
