"""Every state of the page under axe-core, and what no other test looks at: levels, printing, the terminal, the rate."""

from __future__ import annotations

import json
import re
import socket
from pathlib import Path
from typing import Any

import pytest
from browser import SIZES, Visit, needs_a_browser
from page_server import STARTED, Server, household, served

needs_a_browser()


@pytest.mark.parametrize("size", SIZES)
def test_every_state_of_the_feed_and_the_answer_is_sound(
    browser: Any, own: list[Server], tmp_path: Path, size: str
) -> None:
    own.append(served(tmp_path, running=False))
    with Visit(browser, own[0].address, size, color_scheme="dark" if size == "390x844" else "light") as visit:
        assert "No feed is on" in visit.page.inner_text("#strip")
        visit.is_sound()
        visit.ask(STARTED)
        for text, state in (("paused it just now", "paused"), ("back on now", "running"),
                            ("stopped the feed just now", "ended")):
            visit.ask(text)
            visit.page.wait_for_selector(f".strip.{state}")
            visit.is_sound()
        for text in ("she is choking", "what is the weather", "asdf", "undo", "remind me in 2 hours to look in",
                     "how long will 360 last at 72 and how much water a day", "how fast for 300 mL",
                     "she has a runny nose and is warm", "can I put the rate up to 80"):
            visit.ask(text)
            visit.is_sound()
        visit.page.click("#earlier summary")
        visit.is_sound()


def test_without_a_plan_it_is_sound_and_the_danger_list_is_whole(
    browser: Any, own: list[Server], tmp_path: Path
) -> None:
    own.append(Server("--home", str(tmp_path / "empty"), "--now", "2026-11-26T02:10-04:00"))
    with Visit(browser, own[0].address, "320x640") as visit:
        assert "no care plan here yet" in visit.page.inner_text("#strip")
        visit.is_sound()
        visit.page.click("#wrong-open")
        dialog = visit.page.get_by_role("dialog")
        assert dialog.get_by_text("Your local emergency number", exact=True).is_visible()
        for title in ("Stomach tube came out", "Bowel tube came out", "Nose tube came out"):
            assert dialog.get_by_text(title, exact=True).is_visible(), title
        visit.is_sound()


def test_each_level_has_a_word_and_a_shape_of_its_own(browser: Any, own: list[Server], tmp_path: Path) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as visit:
        seen = {}
        for text in ("she is choking", "the tube came out", "she has loose stools today"):
            visit.ask(text)
            mark = visit.page.locator("#answer .level").first
            seen[mark.inner_text().strip()] = mark.locator("path").first.get_attribute("d")
        assert set(seen) == {"Emergency", "Urgent", "Call today"} and len(set(seen.values())) == 3


def test_the_strip_has_all_that_runs_and_moves_by_itself(browser: Any, own: list[Server], tmp_path: Path) -> None:
    """Given, left, end, discard and next flush; when another minute is left it reads differently without a touch."""
    home = household(tmp_path / "home", "adult_jejunal_cycle.toml")
    own.append(Server("--home", home, "--now", "2026-11-26T02:10:18"))     # what is left is told anew at 02:10:30
    with Visit(browser, own[0].address) as visit:
        visit.ask("the cycle feed started at 8 pm yesterday")
        visit.ask("flushed at 12 am")
        visit.page.wait_for_selector(".strip .flush:has-text('4:00')")     # every 4 h by the plan
        labels = visit.page.locator(".strip dt").all_inner_texts()
        assert {"Given", "Left", "Throw away by", "Next flush"} <= set(labels)
        assert visit.page.inner_text(".strip .main strong") == "12:00 pm"  # 1344 mL at 84 mL/h: 16 h
        before = visit.page.inner_text(".strip .main .beside")
        visit.page.wait_for_selector(f".strip .main .beside:not(:text-is('{before}'))", timeout=90_000)


@pytest.mark.parametrize("size", SIZES)
def test_handover_and_sheet_are_printed(browser: Any, own: list[Server], tmp_path: Path, size: str) -> None:
    """The sheet's button prints the sheet, not the page around it; paper hides what is pressed."""
    own.append(served(tmp_path))
    with Visit(browser, own[0].address, size) as visit:
        visit.context.add_init_script("window.print = () => { top.printed = location.pathname; }")
        for path, printed in (("/handoff", "/handoff"), ("/print", "/sheet")):
            visit.page.goto(path)
            visit.page.wait_for_load_state("load")
            visit.page.locator("main .print").first.click()
            assert visit.page.evaluate("window.printed") == printed
        visit.page.goto("/handoff")
        visit.page.emulate_media(media="print")
        assert not visit.page.locator(".stand").is_visible() and not visit.page.locator("main .copy").first.is_visible()
        assert visit.page.locator("#text-nurse").is_visible()


def test_it_listens_on_this_computer_alone_unless_told(tmp_path: Path) -> None:
    from assistant.channels.serve import HERE, listening, loopback

    door = listening(HERE, 0)
    assert loopback(door.getsockname()[0])
    door.close()
    server = Server("--home", household(tmp_path / "home"), cold=True)
    try:
        said = server.wait_for(r"http://\S+").group(0)
        assert said.startswith("http://127.0.0.1:") and "airing code" not in "".join(server.said)
        opened = Path("/proc/net/tcp").read_text("utf-8") if Path("/proc/net/tcp").exists() else ""
        mine = [line.split()[1] for line in opened.splitlines() if f":{server.port:04X} 00000000:0000" in line]
        assert all(where.startswith("0100007F:") for where in mine)
    finally:
        server.stop()


def test_lan_shows_a_picture_and_says_what_plain_http_is(own: list[Server], tmp_path: Path) -> None:
    import segno

    own.append(Server("--home", household(tmp_path / "home"), "--lan", "--host", "127.0.0.1"))
    server = own[0]
    code = server.wait_for(r"airing code.*: (\d{8})").group(1)
    server.wait_for("not encrypted")
    drawn = "".join(server.said)
    rows = [line for line in drawn.splitlines() if re.search("[▀▄█]", line)]
    modules = segno.make(f"{server.address}/pair#{code}", error="m", micro=False).symbol_size(border=4)[1]
    assert abs(len(rows) - modules / 2) <= 4                               # two rows of squares in one of the terminal
    with server.client(headers={"x-forwarded-for": "192.0.2.7"}) as phone:
        assert "nothing is encrypted" in phone.get("/pair").text


def test_too_much_at_once_is_refused_with_a_sentence_and_passes(own: list[Server], tmp_path: Path) -> None:
    own.append(served(tmp_path, running=False))
    asks = [f"GET {path} HTTP/1.1\r\nhost: 127.0.0.1:{own[0].port}\r\nconnection: {then}\r\n\r\n"
            for path, then in [*[("/health", "keep-alive")] * 600, ("/api/state", "close")]]
    with socket.create_connection(("127.0.0.1", own[0].port), timeout=60) as line:
        line.sendall("".join(asks).encode())           # all at once: a client may be slower than the rate allows
        told = line.makefile("rb").read().decode().split("HTTP/1.1 ")[1:]
    assert len(told) == len(asks) and told[0].startswith("200") and any(one.startswith("429") for one in told)
    assert told[-1].startswith("429") and "Wait a few seconds" in json.loads(told[-1].partition("\r\n\r\n")[2])["text"]
    from page_server import Patient

    with own[0].client() as client:
        assert Patient(client)("GET", "/health").status_code == 200
