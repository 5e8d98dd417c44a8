"""The page in Debian's Chromium, as a household uses it, at three sizes; axe-core on every state."""

from __future__ import annotations

import math
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from browser import SIZES, Visit, needs_a_browser
from page_server import Server, served

needs_a_browser()
IN_SIGHT = "() => { const y = document.querySelector('#answer .lead').getBoundingClientRect().y; " \
           "return y >= 0 && y < innerHeight / 2; }"


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("size", SIZES)
def test_the_two_questions_of_the_night(browser: Any, night: Server, size: str, scheme: str) -> None:
    """How long the bag lasts stands at the top; what to do when the tube came out is one touch away."""
    with Visit(browser, night.address, size, color_scheme=scheme) as visit:
        page = visit.page
        assert page.inner_text(".strip .main strong") == "05:45"            # 20:45 and 9 h (648 mL at 72 mL/h)
        for tile in ("How long will the bag last?", "The tube came out"):
            box = page.get_by_role("button", name=tile).bounding_box()
            assert box and box["y"] + 50 < page.viewport_size["height"] - 80, "not on the first screen"
        visit.is_sound()
        visit.press("How long will the bag last?")
        assert "empty at 05:45" in visit.answered("how long will this bag last")
        assert "Throw away by: 02:45" in visit.answer                      # hang time 6 h from 20:45
        visit.is_sound()
        visit.press("The tube came out")
        assert "Stop the feed." in visit.answered("the tube came out")
        visit.until(IN_SIGHT)                                              # it is scrolled to
        assert page.locator("#answer .call").get_attribute("href") == "tel:9025550117"
        top = page.locator("#answer .lead").bounding_box()
        assert top and 0 <= top["y"] < page.viewport_size["height"] / 2, "the answer is not in sight"
        assert page.locator("#answer .level").inner_text().strip() == "Urgent"
        visit.is_sound()


def given(server: Server) -> int:
    """mL given by now, at 72 mL/h since 20:45: 390 at 02:10."""
    with server.client() as client:
        now = datetime.fromisoformat(client.get("/api/state").json()["now"])
    hours = (now - datetime(2026, 11, 25, 20, 45, tzinfo=now.tzinfo)).total_seconds() / 3600
    return math.floor(72 * hours + 0.5)


@pytest.mark.parametrize("size", SIZES)
def test_ask_choose_and_follow_up(browser: Any, night: Server, size: str) -> None:
    with Visit(browser, night.address, size) as visit:
        before = given(night)
        visit.ask("how much has gone in")
        assert visit.lead.split(" mL")[0] in {str(mL) for mL in range(before, given(night) + 1)}
        assert not visit.page.locator("#answer .how p").first.is_visible()
        visit.page.click("#answer .how summary")
        assert "feed log" in visit.page.inner_text("#answer .how")
        visit.ask("and at 60 mL/h how long for 240")
        assert "4 h" in visit.lead
        visit.ask("no, 80")                                                # a follow-up of what was asked
        assert "3 h" in visit.lead
        assert visit.page.locator("#earlier .answer").count() == 2
        visit.ask("how fast for 300 mL")
        visit.page.fill("#answer .field input", "5 hours")
        visit.page.press("#answer .field input", "Enter")
        visit.answered("5 hours")
        assert "60 mL/h" in visit.lead                                     # 300 / 5
        visit.is_sound()


@pytest.mark.parametrize("size", SIZES)
def test_a_choice_is_a_button(browser: Any, night: Server, size: str) -> None:
    with Visit(browser, night.address, size) as visit:
        visit.ask("walk me through a feed")
        labels = visit.page.locator("#answer .choices button").all_inner_texts()
        assert 2 <= len(labels) <= 3
        visit.is_sound()
        visit.page.locator("#answer .choices button").first.click()
        visit.page.wait_for_selector("#earlier .answer", state="attached")
        assert not visit.page.locator("#earlier button").count()           # an old answer's buttons are gone


@pytest.mark.parametrize("size", SIZES)
def test_something_is_wrong(browser: Any, night: Server, size: str) -> None:
    with Visit(browser, night.address, size, color_scheme="dark") as visit:
        page = visit.page
        page.keyboard.press("Tab")
        page.click("#wrong-open")
        dialog = page.get_by_role("dialog", name="What is wrong?")
        dialog.wait_for()
        calls = dialog.get_by_role("group", name="In danger, call now").get_by_role("link")
        assert [call.get_attribute("href") for call in calls.all()] == ["tel:911", "tel:9025550117"]
        assert dialog.get_by_text("Stomach tube came out").count() == 1
        assert dialog.get_by_text("Bowel tube came out").count() == 0      # no such tube in this plan
        visit.is_sound()
        dialog.get_by_text("Choking", exact=True).click()
        assert dialog.get_by_text("Let them cough if they can.").is_visible()
        visit.is_sound()
        page.keyboard.press("Escape")
        dialog.wait_for(state="hidden")
        assert page.evaluate("document.activeElement.id") == "wrong-open"  # the focus goes back to where it was


@pytest.mark.parametrize("size", SIZES)
def test_log_and_undo(browser: Any, own: list[Server], tmp_path: Path, size: str) -> None:
    own.append(served(tmp_path, running=False))
    with Visit(browser, own[0].address, size) as visit:
        visit.press("Started: overnight")
        assert "Written down" in visit.answered("just started the overnight feed")
        visit.page.wait_for_selector(".strip.running")
        visit.press("Flushed 20 mL")
        assert "flush of 20 mL" in visit.answered("flushed with 20 mL just now")
        visit.is_sound()
        visit.press("Take that back", "#answer")
        assert "Taken back" in visit.answered("undo")
        visit.press("Paused")
        visit.answered("paused it just now")
        visit.page.wait_for_selector(".strip.paused")
        visit.press("On again")
        visit.answered("back on now")
        visit.page.wait_for_selector(".strip.running")
        visit.page.goto("/log")
        assert visit.page.locator(".log li").count() == 3                  # started, paused, on again
        visit.is_sound()


@pytest.mark.parametrize("size", SIZES)
def test_a_walk_through_step_by_step(browser: Any, own: list[Server], tmp_path: Path, size: str) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address, size) as visit:
        visit.page.goto("/guides")
        visit.is_sound()
        visit.press("Flush the tube")
        visit.page.wait_for_selector("#answer .steps")
        assert visit.lead.startswith("Step 1 of 8")
        visit.is_sound()
        for n in (2, 3):
            visit.press("Next", "#answer")
            visit.page.wait_for_selector(f"#answer .lead:has-text('Step {n} of 8')")
        assert "20 mL" in visit.lead                # the plan's flush
        visit.press("Back", "#answer")
        visit.page.wait_for_selector("#answer .lead:has-text('Step 2 of 8')")
        box = visit.page.get_by_role("button", name="Next", exact=True).bounding_box()
        assert box and box["height"] >= 60
        own[0].stop(kill=True)                                             # in the middle of it
        own[0].begin()
        visit.press("Next", "#answer")
        visit.page.wait_for_selector("#answer .lead:has-text('Step 3 of 8')")


def test_a_reminder_rings_until_somebody_has_seen_it(browser: Any, own: list[Server], tmp_path: Path) -> None:
    own.append(served(tmp_path, now="2026-11-26T02:10"))
    address = own[0].address
    with Visit(browser, address) as visit, Visit(browser, address, "320x640") as other, \
            Visit(browser, address, "1280x800") as third:
        visit.ask("remind me at 02:30 to turn her")
        third.page.goto("/week")                                           # on a page without the strip: a line
        own[0].stop()
        own[0].args = ("--home", str(tmp_path / "home"), "--now", "2026-11-26T02:29:58")
        own[0].begin()
        for one in (visit, other):
            one.page.wait_for_selector(".due:has-text('turn her')", timeout=20_000)
            one.page.wait_for_selector("html[data-ringing]")               # the strip may be fetched before the event
            assert one.page.title().startswith("DUE")
            one.is_sound()
        third.page.wait_for_selector("#due:has-text('turn her')", timeout=20_000)
        assert third.page.title().startswith("DUE")
        third.is_sound()
        third.page.goto("/")
        third.page.wait_for_selector("html[data-ringing]")
        assert third.page.evaluate("document.getAnimations().length") == 0     # it rings, nothing flashes
        third.is_sound()
        other.press("I have seen it", ".due")
        for one in (visit, other, third):
            one.page.wait_for_selector(".due", state="detached")
            one.page.wait_for_selector("html:not([data-ringing])")
