"""The page in Chromium when the connection is the matter: two browsers, a restart, none at all, pairing a phone."""

from __future__ import annotations

import itertools
from pathlib import Path
from typing import Any

import pytest
from browser import SIZES, Visit, needs_a_browser
from page_server import Server, served

from assistant.channels.web.pairing import TRIES

needs_a_browser()


@pytest.mark.parametrize(("size", "other"), list(itertools.pairwise([*SIZES, "320x640"])))
def test_two_browsers_at_once(browser: Any, own: list[Server], tmp_path: Path, size: str, other: str) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address, size) as one, Visit(browser, own[0].address, other) as two:
        one.ask("how long does it last at 60")
        two.ask("flushed with 15 ml just now")
        one.ask("why")
        assert "flush" not in one.answer.lower()                           # each has a conversation of its own
        two.press("Paused")
        one.page.wait_for_selector(".strip.paused")                        # and one log


@pytest.mark.parametrize("size", SIZES)
def test_a_restart_in_mid_conversation(browser: Any, own: list[Server], tmp_path: Path, size: str) -> None:
    own.append(served(tmp_path, running=False))
    with Visit(browser, own[0].address, size) as visit:
        visit.ask("how long will the bag last")
        own[0].stop(kill=True)
        visit.page.fill("#answer .field input", "360")
        visit.page.press("#answer .field input", "Enter")
        visit.page.wait_for_selector("#answer .fault")
        assert "did not get through" in visit.answer
        own[0].begin()
        visit.ask("360")
        assert "5 h" in visit.lead                  # 360 / 72


@pytest.mark.parametrize("size", SIZES)
def test_offline_after_load(browser: Any, own: list[Server], tmp_path: Path, size: str) -> None:
    """Without a connection the page says so, keeps what it showed, and what to do in danger still opens."""
    own.append(served(tmp_path))
    with Visit(browser, own[0].address, size) as visit:
        visit.context.set_offline(True)
        own[0].stop(kill=True)
        visit.page.wait_for_selector("#offline:has-text('from 02:1')", timeout=20_000)
        visit.is_sound()
        visit.page.click("#wrong-open")
        visit.page.get_by_text("Stomach tube came out").click()
        assert visit.page.get_by_text("Cover the hole with a clean dressing.").is_visible()
        visit.page.keyboard.press("Escape")
        visit.context.set_offline(False)
        own[0].begin()
        visit.page.wait_for_selector("#offline:empty", state="attached", timeout=20_000)


@pytest.mark.parametrize("size", SIZES)
def test_pairing(browser: Any, own: list[Server], tmp_path: Path, size: str) -> None:
    own.append(served(tmp_path, "--lan"))
    code = own[0].wait_for(r"airing code.*: (\d{8})").group(1)
    away = {"x-forwarded-for": "192.0.2.7"}
    with Visit(browser, own[0].address, size, extra_http_headers=away) as phone:
        assert phone.page.url.endswith("/pair")
        phone.is_sound()
        phone.page.fill("#code", "123")
        phone.press("Pair this phone")
        assert "not the code" in phone.page.get_by_role("alert").inner_text()
        phone.is_sound()
        phone.page.goto("about:blank")
        phone.page.goto(f"/pair#{code}")                                   # what the picture on the terminal holds
        assert phone.page.input_value("#code") == code
        phone.press("Pair this phone")
        phone.page.wait_for_selector(".strip.running")
        phone.ask("how much is left")
        assert "mL" in phone.lead
        phone.page.goto("/pair")
        phone.is_sound()
        phone.press("Unpair this phone")
        phone.page.wait_for_selector("#code")
        phone.page.goto("/")
        assert phone.page.url.endswith("/pair")


def test_ten_wrong_codes_lock_pairing(browser: Any, own: list[Server], tmp_path: Path) -> None:
    """The right one opens nothing then; the page says what to do."""
    own.append(served(tmp_path, "--lan"))
    code = own[0].wait_for(r"airing code.*: (\d{8})").group(1)
    with Visit(browser, own[0].address, "320x640", extra_http_headers={"x-forwarded-for": "192.0.2.7"}) as phone:
        for n in range(TRIES):
            phone.page.fill("#code", f"{(int(code) + 1 + n) % 10**8:08}")
            with phone.page.expect_navigation():                           # the alert before it looks the same
                phone.press("Pair this phone")
            phone.page.wait_for_selector("[role=alert]")
        assert "Too many wrong codes" in phone.page.get_by_role("alert").inner_text()
        phone.is_sound()
        phone.page.fill("#code", code)
        with phone.page.expect_navigation():
            phone.press("Pair this phone")
        assert "Too many wrong codes" in phone.page.get_by_role("alert").inner_text()
        phone.page.goto("/")
        assert phone.page.url.endswith("/pair")


def test_a_phone_that_is_let_go_at_the_computer_is_out_at_once(browser: Any, own: list[Server], tmp_path: Path) -> None:
    """And keeps no danger list of a household that it does not belong to any more."""
    own.append(served(tmp_path, "--lan"))
    code = own[0].wait_for(r"airing code.*: (\d{8})").group(1)
    away = {"x-forwarded-for": "192.0.2.7"}
    with Visit(browser, own[0].address, extra_http_headers=away) as phone, Visit(browser, own[0].address) as computer:
        phone.page.fill("#code", code)
        phone.press("Pair this phone")
        phone.page.wait_for_selector(".strip.running")
        computer.page.goto("/pair")
        computer.is_sound()
        computer.page.get_by_role("button", name="Unpair").click()
        computer.page.get_by_text("No phone is paired.").wait_for()
        phone.page.fill("#text", "how much is left")
        phone.page.press("#text", "Enter")
        phone.page.wait_for_selector("#answer .fault:has-text('not paired')")
        phone.page.reload()
        assert phone.page.url.endswith("/pair")
        phone.until("caches.match('/away').then((found) => !found)")       # the list is not kept any more
