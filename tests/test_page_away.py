"""The page in Chromium while the computer at home is away: what opens, what is kept, what is never answered."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from browser import SIZES, Visit, needs_a_browser
from page_server import Server, served

needs_a_browser()

UNSENT = "#unsent li .text"


def kept_by_worker(visit: Visit) -> list[str]:
    """Wait until the service worker has what it needs; the addresses of all that it keeps."""
    found: list[str] = visit.until("""async () => {
      const names = await caches.keys();
      if (names.length !== 1 || !await caches.match("/away") || !navigator.serviceWorker.controller) return null;
      return (await (await caches.open(names[0])).keys()).map((one) => new URL(one.url).pathname);
    }""")
    return found


@pytest.mark.parametrize("size", SIZES)
def test_after_one_load_it_opens_with_the_server_away(
    browser: Any, own: list[Server], tmp_path: Path, size: str
) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address, size) as visit:
        page = visit.page
        kept_by_worker(visit)
        own[0].stop(kill=True)
        page.reload()
        assert "does not answer" in page.inner_text("h1")
        for part in ("cannot get an answer or a number", "on Thursday 26 November 2026, 02:1"):
            assert part in page.inner_text("main"), part
        calls = page.get_by_role("group", name="In danger, call now").get_by_role("link")
        assert [call.get_attribute("href") for call in calls.all()] == ["tel:911", "tel:9025550117"]
        visit.is_sound()
        page.get_by_text("Stomach tube came out").click()
        assert page.get_by_text("Cover the hole with a clean dressing.").is_visible()
        assert "05:45" not in page.inner_text("body") and "mL" not in page.inner_text(".box")      # nothing of the feed
        visit.is_sound()
        page.fill("#text", "how long will 360 last at 72")
        visit.press("Keep it")
        assert page.locator(UNSENT).all_inner_texts() == ["how long will 360 last at 72"]
        assert page.input_value("#text") == "" and "5 h" not in page.inner_text("body")
        visit.is_sound()
        page.goto("/log")                                                   # whatever is opened
        assert "does not answer" in page.inner_text("h1")
        own[0].begin()
        page.wait_for_selector("#back:has-text('answers again')", timeout=30_000)
        page.get_by_role("link", name="Open the feed").click()
        page.wait_for_selector(".strip.running")
        page.wait_for_selector(UNSENT)
        assert page.locator(UNSENT).all_inner_texts() == ["how long will 360 last at 72"]
        visit.press("Put back in the box")
        visit.press("Ask")
        assert "5 h" in visit.answered("how long will 360 last at 72")
        page.wait_for_selector("#unsent", state="hidden")


def test_nothing_with_a_number_of_the_feed_is_ever_kept(browser: Any, own: list[Server], tmp_path: Path) -> None:
    """Only the one page and the files are in the cache, whatever was opened and asked."""
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as visit:
        kept_by_worker(visit)
        visit.ask("how long will 360 last at 72")
        for path in ("/log", "/week", "/handoff", "/sheet", "/api/state", "/"):
            visit.page.goto(path)
        found = kept_by_worker(visit)
        assert "/away" in found and "/static/main.js" in found
        assert all(path == "/away" or path.startswith("/static/") for path in found)
        own[0].stop(kill=True)
        for path in ("/api/state", "/strip"):
            failed = visit.page.evaluate("(path) => fetch(path).then(() => false, () => true)", path)
            assert failed, path
        failed = visit.page.evaluate("""() => fetch("/ask", {method: "POST", headers: {"x-bagside": "part"},
          body: new URLSearchParams({text: "how long will 360 last at 72"})}).then(() => false, () => true)""")
        assert failed


def test_a_newer_page_takes_the_place_of_the_kept_one(browser: Any, own: list[Server], tmp_path: Path) -> None:
    """Each load fetches the list anew: a plan that was changed is not an old list tomorrow."""
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as visit:
        kept_by_worker(visit)
        file = tmp_path / "home" / "care_plan.toml"
        file.write_text(file.read_text(encoding="utf-8").replace("902-555-0117", "902-555-0188"), encoding="utf-8")
        visit.page.reload()
        visit.until("async () => (await (await caches.match('/away')).text()).includes('0188')")
        own[0].stop(kill=True)
        visit.page.reload()
        assert visit.page.locator("main a.nurse_line").get_attribute("href") == "tel:9025550188"


def test_what_was_asked_while_away_is_kept_and_never_sent_by_itself(
    browser: Any, own: list[Server], tmp_path: Path
) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as visit:
        page = visit.page
        visit.ask("how much is left")
        own[0].stop(kill=True)
        visit.page.fill("#text", "flushed with 20 ml just now")
        visit.page.press("#text", "Enter")
        page.wait_for_selector(UNSENT)
        assert "kept below as not sent" in visit.answer
        visit.press("Was sick")                                            # a button's words are kept too
        page.wait_for_selector(f"{UNSENT}:has-text('vomit')")
        assert page.locator(UNSENT).count() == 2 and page.input_value("#text") == ""
        visit.is_sound()
        own[0].begin()
        page.wait_for_selector("#offline:empty", state="attached", timeout=30_000)
        page.reload()
        assert page.locator(UNSENT).count() == 2                           # still there, still unsent
        with own[0].client() as client:
            assert '<span class="what">flush</span>' not in client.get("/log").text
        page.locator("#unsent li").filter(has_text="vomit").get_by_role("button", name="Delete").click()
        visit.press("Put back in the box")
        page.fill("#text", "flushed with 20 ml at 2 am")                   # the time put right: the entry stays
        visit.press("Ask")
        assert "Written down" in visit.answered("flushed with 20 ml at 2 am")
        assert page.locator(UNSENT).count() == 1
        visit.press("Delete")
        page.wait_for_selector("#unsent", state="hidden")


def test_the_same_words_later_are_another_entry(browser: Any, own: list[Server], tmp_path: Path) -> None:
    """A flush of now is written down though the same button failed a while ago."""
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as visit:
        own[0].stop(kill=True)
        visit.press("Flushed 20 mL")
        visit.page.wait_for_selector(UNSENT)
        own[0].begin()
        visit.page.evaluate("() => { const real = Date.now; Date.now = () => real() + 3600000; }")
        visit.press("Flushed 20 mL")
        assert "Written down" in visit.answered("flushed with 20 mL just now")
        assert visit.page.locator(UNSENT).count() == 1


def test_a_danger_s_button_opens_its_card_while_away(browser: Any, own: list[Server], tmp_path: Path) -> None:
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as visit:
        own[0].stop(kill=True)
        visit.press("The tube came out")
        visit.page.get_by_text("Cover the hole with a clean dressing.").wait_for()         # once the try has failed
        visit.is_sound()
        visit.page.keyboard.press("Escape")
        own[0].begin()
        visit.ask("what now?")                                             # the card was told before this
        assert "Stop the feed." in visit.answer


def test_an_answer_s_buttons_stay_where_no_answer_came(browser: Any, own: list[Server], tmp_path: Path) -> None:
    """A "yes" kept for later could say yes to something else."""
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as visit:
        visit.ask("walk me through a feed")
        count = visit.page.locator("#answer .choices button").count()
        own[0].stop(kill=True)
        visit.page.locator("#answer .choices button").first.click()
        visit.page.wait_for_selector("#answer > .fault")
        assert visit.page.locator("#answer .choices button").count() == count
        assert not visit.page.locator(UNSENT).count()


def test_over_plain_http_the_open_page_is_not_left_for_one_that_would_not_open(
    browser: Any, own: list[Server], tmp_path: Path
) -> None:
    """As on the home network: no service worker. The page says so, keeps its list, and stays."""
    own.append(served(tmp_path))
    with Visit(browser, own[0].address) as visit:
        visit.context.add_init_script("delete Navigator.prototype.serviceWorker")
        page = visit.page
        page.reload()
        assert page.evaluate("navigator.serviceWorker === undefined")
        page.get_by_role("link", name="Week").click()                      # there: it opens
        page.wait_for_url("**/week")
        page.goto("/")
        own[0].stop(kill=True)
        page.wait_for_selector("#offline:has-text('Keep this page open')", timeout=30_000)
        page.get_by_role("link", name="Log").click()
        page.wait_for_selector("#offline:has-text('needs the computer at home')")
        assert page.url.endswith(f":{own[0].port}/")
        page.click("#wrong-open")
        page.get_by_text("Stomach tube came out").click()
        assert page.get_by_text("Cover the hole with a clean dressing.").is_visible()
        visit.page.keyboard.press("Escape")
        own[0].begin()
        page.wait_for_selector("#offline:empty", state="attached", timeout=30_000)
        page.get_by_role("link", name="Log").click()
        page.wait_for_url("**/log")


def test_the_script_names_its_cache_by_what_is_in_it() -> None:
    from assistant.channels.web import worker

    text = worker.script().decode()
    found = re.search(r'^const CACHE = "(bagside-[0-9a-f]{16})";', text)
    assert found and '"/static/main.js"' in text and "desk.css" not in text
    for module in re.findall(r'from "\./([a-z_]+\.js)"', Path("assistant/page/static/main.js").read_text("utf-8")):
        assert f'"/static/{module}"' in text, module
