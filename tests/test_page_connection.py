"""The page in Chromium when the connection is the matter: two browsers, a restart, none at all, pairing a phone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from browser import Visit, needs_a_browser
from page_server import Server, served

needs_a_browser()


def test_two_browsers_at_once(browser: Any, own: list[Server], tmp_path: Path) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as one, Visit(browser, own[0].address, "1280x800") as two:
        one.ask("how long does it last at 60")
        two.ask("flushed with 15 ml just now")
        one.ask("why")
        assert "flush" not in one.answer.lower()                           # each has a conversation of its own
        two.press("Paused")
        one.page.wait_for_selector(".strip.paused")                        # and one log


def test_a_restart_in_mid_conversation(browser: Any, own: list[Server], tmp_path: Path) -> None:
    own.append(served(tmp_path, running=False))
    with Visit(browser, own[0].address) as visit:
        visit.ask("how long will the bag last")
        own[0].stop(kill=True)
        visit.page.fill("#answer .field input", "360")
        visit.page.press("#answer .field input", "Enter")
        visit.page.wait_for_selector("#answer .fault")
        assert "did not get through" in visit.answer
        own[0].begin()
        visit.ask("360")
        assert "5 h" in visit.lead                  # 360 / 72


def test_offline_after_load(browser: Any, own: list[Server], tmp_path: Path) -> None:
    """Without a connection the page says so, keeps what it showed, and what to do in danger still opens."""
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as visit:
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


def test_pairing(browser: Any, own: list[Server], tmp_path: Path) -> None:
    own.append(served(tmp_path, "--lan"))
    code = own[0].wait_for(r"airing code.*: (\d{8})").group(1)
    away = {"x-forwarded-for": "192.0.2.7"}
    with Visit(browser, own[0].address, "320x640", extra_http_headers=away) as phone:
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
