"""The desk in Chromium at 1280x800: one call from the sign-in to the call-back list by keyboard alone, axe clean."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser import Visit, needs_a_browser
from desk_server import PASSWORDS, desk
from page_server import Server

needs_a_browser()
SHOTS = os.environ.get("BAGSIDE_SHOTS")  # a folder: the pages as pictures, to look at


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    made = desk(tmp_path_factory.mktemp("desk"))
    yield made
    assert "Traceback" not in made.stop()


def tab_to(page: Any, name: str) -> None:
    """Press Tab until what has the focus is called so."""
    for _ in range(60):
        page.keyboard.press("Tab")
        named = page.evaluate("(() => { const e = document.activeElement; return e.labels?.[0]?.textContent "
                              "|| e.textContent; })()")
        if named.strip().startswith(name):
            return
    raise AssertionError(f"{name} is not reached by Tab")


def seen(visit: Visit, name: str) -> None:
    visit.is_sound()
    if SHOTS:
        visit.page.screenshot(path=str(Path(SHOTS) / f"desk_{name}.png"), full_page=True)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_call_by_keyboard(browser: Any, server: Server, scheme: str) -> None:
    with Visit(browser, server.address, "1280x800", color_scheme=scheme) as visit:
        page, keys = visit.page, visit.page.keyboard
        seen(visit, f"login_{scheme}")
        keys.type("nils")
        keys.press("Tab")
        keys.type(PASSWORDS["nils"])
        keys.press("Enter")
        page.wait_for_selector("#q:focus")                      # typed too early, words go nowhere
        seen(visit, f"homes_{scheme}")
        keys.type("K-17")
        keys.press("Enter")
        page.wait_for_url("**q=K-17*")
        tab_to(page, "Find")
        keys.press("Tab")
        keys.press("Enter")
        page.wait_for_selector(":focus:has-text('Take a call')")
        seen(visit, f"home_{scheme}")
        keys.press("Enter")                                     # "Take a call" has the focus
        page.wait_for_selector("#words:focus")
        keys.type("she vomited twice since midnight")
        tab_to(page, "Read the words")
        keys.press("Enter")
        page.wait_for_selector("#note")
        seen(visit, f"call_{scheme}")
        tab_to(page, "Not asked")
        keys.press("ArrowDown")                                 # around to the first: yes
        tab_to(page, "Take in the answers")
        keys.press("Enter")
        page.wait_for_selector("text=By the words and the answers: Emergency")
        tab_to(page, "Note")
        keys.press("Control+End")
        keys.type(" Told to call now.")
        tab_to(page, "Save the note")
        keys.press("Enter")
        page.wait_for_selector("#notes ~ pre:has-text('Told to call now.')")
        seen(visit, f"noted_{scheme}")
        page.select_option("#level", "urgent")
        page.fill("#due", "2026-11-26T03:00")
        page.fill("#about", "how she is")
        page.press("#about", "Enter")
        page.wait_for_selector("text=how she is")
        seen(visit, f"calls_{scheme}")
