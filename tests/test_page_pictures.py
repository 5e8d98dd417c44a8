"""The pictures of the page and of the week's file: no word of them is cut off, and each can be read."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from browser import SIZES, Visit, needs_a_browser
from page_server import Server, household, served

from assistant.channels.report_commands import days_of
from assistant.channels.week_picture import picture, strip
from assistant.household.care_plan import read_plan
from assistant.night import Night
from assistant.session import instant

needs_a_browser()

# Each text of each picture: is it within its picture and the screen, how large are its letters (CSS px), which other
# texts lie over it?
TEXTS = """() => [...document.querySelectorAll("svg")].flatMap((svg) => {
  const frame = svg.getBoundingClientRect(), texts = [...svg.querySelectorAll("text")];
  return texts.map((text) => {
    const box = text.getBoundingClientRect();
    const out = box.left < frame.left - .5 || box.right > frame.right + .5 || box.top < frame.top - .5
      || box.bottom > frame.bottom + .5 || frame.right > innerWidth;
    const over = texts.filter((other) => other !== text).filter((other) => {
      const b = other.getBoundingClientRect();
      return b.left < box.right && box.left < b.right && b.top < box.bottom && box.top < b.bottom;
    }).map((other) => other.textContent);
    return [text.textContent, out, parseFloat(getComputedStyle(text).fontSize) * text.getScreenCTM().a, over];
  });
})"""
LEAST_PX = 11


def fault_of(found: list[Any], least: float = LEAST_PX) -> list[Any]:
    return [one for one in found if one[1] or one[2] < least or one[3]]


@pytest.mark.parametrize("size", SIZES)
def test_no_word_of_week_and_day_is_cut_off(browser: Any, own: list[Server], tmp_path: Path, size: str) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address, size) as visit:
        for path, least in (("/week", 14), ("/", 5)):                      # a day and an amount for each of 7; 5 hours
            visit.page.goto(path)
            found = visit.page.evaluate(TEXTS)
            assert len(found) >= least and not fault_of(found), (path, fault_of(found))
            visit.is_sound()


@pytest.mark.parametrize("plan", ["adult_jejunal_cycle", "adult_syringe", "infant_powder"])
@pytest.mark.parametrize("at", ["2026-11-25T00:00", "2026-11-25T23:59"])
def test_other_plans_at_midnight_too(browser: Any, own: list[Server], tmp_path: Path, plan: str, at: str) -> None:
    own.append(Server("--home", household(tmp_path / "home", f"{plan}.toml"), "--now", at))
    with Visit(browser, own[0].address, "320x640") as visit:
        for path in ("/week", "/"):
            visit.page.goto(path)
            assert not fault_of(visit.page.evaluate(TEXTS)), path
        line = visit.page.evaluate("""(() => {
          const now = document.querySelector(".day-strip .now");
          return now && [now.getBBox().x, now.closest("svg").viewBox.baseVal.width];
        })()""")
        assert line is None or 1 <= line[0] <= line[1] - 1                 # half of its width on each side


def test_the_week_s_file_is_whole(browser: Any) -> None:
    """Its note is longer than the picture is wide."""
    plan = read_plan(Path("demo/child_overnight_pump.toml"))
    days = days_of(Night(plan, instant("2026-11-26T02:10", plan)))
    page = browser.new_page(viewport={"width": 800, "height": 600})
    page.set_content(f"<body>{picture(days)}</body>")
    found = page.evaluate(TEXTS)
    page.close()
    assert not fault_of(found, least=10) and len(found) >= 16
    assert "From the feed log and the care plan." in " ".join(text for text, *_ in found)


def test_the_page_s_week_has_a_bar_where_an_amount_is_known() -> None:
    plan = read_plan(Path("demo/child_overnight_pump.toml"))
    days = days_of(Night(plan, instant("2026-11-26T02:10", plan)))
    assert strip(days).count('class="all"') == len(days) == 7
    assert [day.on for day in days][-1] == date(2026, 11, 26)
    known = sum(day.given is not None for day in days)
    assert strip(days).count("<rect") == 7 + known and strip(days).count("<line") == 7
