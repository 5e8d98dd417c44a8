"""The list "Something is wrong" and the conversation: a card that is opened counts as said."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from browser import Visit, needs_a_browser
from conftest import DEMO
from page_server import Patient, Server, served

from assistant.channels.web import facts
from assistant.channels.web.household import Clock, Household
from assistant.household.care_plan import read_plan
from assistant.session import instant
from knowledge.library import table

needs_a_browser()
LISTED = [name for group in table("page_en")["wrong"]["groups"] for name in group["cards"]]


@pytest.mark.parametrize("plan", [None, *sorted(DEMO.glob("*.toml"))], ids=lambda path: path.stem if path else "none")
def test_every_card_of_the_list_is_taken_as_that_very_card(plan: Path | None) -> None:
    """By what was opened, not by how its title would be heard; and "what now?" then says its steps again."""
    read = read_plan(plan) if plan else None
    household = Household(None, read, Clock(instant("2026-11-26T02:10-04:00", read)))
    opened = 0
    for name in LISTED:
        answer = facts.opened(household, "", name)
        if answer is None:
            assert plan is not None, name                                  # without a plan all of them are listed
            continue
        opened += 1
        assert answer["parts"][0]["card"] == name
        again = facts.asked(household, "", "what now?", None)
        assert again["parts"][0]["lead"] == answer["parts"][0]["lead"], name
    assert opened >= 30
    assert facts.opened(household, "", "no_such_card") is None
    assert facts.opened(household, "", "../figures") is None


def test_a_card_of_another_plan_or_none_is_refused(night: Server) -> None:
    with night.client(headers={"origin": night.address}) as client:
        for card in ("tube_out_jejunal", "x", "", "../cautions/choking", "a" * 41):
            got = Patient(client)("POST", "/opened", data={"card": card})
            assert got.status_code in (400, 413) and "class=\"answer\"" not in got.text, card
        assert Patient(client)("POST", "/opened", data={"text": "x"}).status_code == 400


@pytest.mark.parametrize("size", ["320x640", "390x844", "1280x800"])
def test_a_tap_on_a_card_is_told_and_what_follows_is_understood(
    browser: Any, own: list[Server], tmp_path: Path, size: str
) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address, size) as visit:
        page = visit.page
        page.click("#wrong-open")
        page.get_by_role("dialog").get_by_text("Stomach tube came out").click()
        page.wait_for_selector("#answer .heard:has-text('Stomach tube came out')", state="attached")
        assert page.get_by_role("dialog").get_by_text("Cover the hole with a clean dressing.").is_visible()
        page.keyboard.press("Escape")
        assert "Stop the feed." in visit.lead
        visit.is_sound()
        visit.ask("it is only 2 days old")
        assert "Do not put it back." in visit.answer                       # a new hole: another card
        visit.ask("what now?")
        assert "Stop the feed." in visit.answer and "Did you mean" not in visit.answer


def test_a_walk_through_waits_until_the_danger_that_was_opened_is_over(
    browser: Any, own: list[Server], tmp_path: Path
) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as visit:
        visit.ask("walk me through flushing the tube")
        visit.page.click("#wrong-open")
        visit.page.get_by_role("dialog").get_by_text("Choking", exact=True).click()
        visit.page.wait_for_selector("#answer .heard:has-text('Choking')", state="attached")
        visit.page.keyboard.press("Escape")
        visit.ask("next")
        assert "Step 2" not in visit.answer


def test_closing_a_card_tells_nothing(browser: Any, own: list[Server], tmp_path: Path) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as visit:
        visit.page.goto("/wrong")
        with visit.page.expect_response("**/opened"):                      # told: leaving the page does not cut it off
            visit.page.get_by_text("Choking", exact=True).click()
        visit.page.get_by_text("Choking", exact=True).click()
        visit.page.get_by_text("Fever", exact=True).wait_for()
        assert sum(url.endswith("/opened") for url in visit.asked) == 1
        visit.page.goto("/")
        assert "Let them cough" in visit.answer                            # what it said stands there as the answer


def test_without_javascript_a_button_tells_it(browser: Any, own: list[Server], tmp_path: Path) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address, java_script_enabled=False) as visit:
        visit.page.click("#wrong-open")
        visit.page.get_by_text("Stomach tube came out").click()
        visit.page.locator("#tube_out").get_by_role("button", name="This is it: show it as the answer").click()
        assert "Stop the feed." in visit.lead
        visit.page.fill("#text", "what now?")
        visit.press("Ask")
        assert "Stop the feed." in visit.answer
