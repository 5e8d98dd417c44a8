"""The page for everybody: without JavaScript, by keyboard, by screen reader, enlarged, at night; every other view."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browser import SIZES, Visit, needs_a_browser
from page_server import Patient, Server, household

needs_a_browser()

VIEWS = ("/wrong", "/guides", "/log", "/week", "/handoff", "/print", "/pair", "/away", "/none")


@pytest.fixture
def night(tmp_path: Path) -> Iterator[Server]:
    """One for each test: all the pages of a whole module within a minute come over the limit on requests."""
    server = Server("--home", household(tmp_path / "home"), "--now", "2026-11-26T02:10")
    with server.client() as client:
        for text in ("the overnight feed started at 20:45 yesterday", "remind me in 2 hours to check the pump"):
            assert Patient(client).ask(text)["outcome"] == "done"
    yield server
    server.stop()


@pytest.mark.parametrize(("size", "scheme"), [("320x640", "dark"), ("1280x800", "light")])
def test_every_view_is_sound(browser: Any, night: Server, size: str, scheme: str) -> None:
    with Visit(browser, night.address, size, color_scheme=scheme) as visit:
        for path in VIEWS:
            visit.page.goto(path)
            visit.is_sound()


def test_every_view_is_sound_before_its_scripts_arrive(browser: Any, night: Server) -> None:
    with Visit(browser, night.address) as visit:
        visit.context.route("**/static/*.js", lambda route: route.abort())
        for path in ("/", *VIEWS):
            visit.page.goto(path)
            visit.is_sound()


def test_without_javascript_it_asks_and_answers(browser: Any, night: Server) -> None:
    with Visit(browser, night.address, java_script_enabled=False) as visit:
        visit.page.fill("#text", "how long will 360 last at 72")
        visit.press("Ask")
        assert "5 h" in visit.lead
        visit.press("The tube came out")
        assert "Stop the feed." in visit.lead
        visit.page.click("#wrong-open")
        visit.page.get_by_text("Choking", exact=True).click()
        assert visit.page.get_by_text("Let them cough if they can.").is_visible()
        visit.press("Night colours", ".top")
        assert visit.page.locator("html").get_attribute("data-colours") == "night"


def test_the_names_a_screen_reader_says(browser: Any, night: Server) -> None:
    with Visit(browser, night.address) as visit:
        visit.ask("how long will this bag last")
        told = visit.page.locator("body").aria_snapshot()
        for name in ('button "How long will the bag last?"', 'textbox "Ask, or say what is wrong"', 'button "Ask"',
                     'button "Something is wrong"', 'heading "On: overnight"', 'img "60 of 100 given"',
                     'button "Night colours"', 'navigation "More"', 'link "Handover"', 'button "Paused"'):
            assert name in told, name
        assert visit.page.locator("#answer").get_attribute("aria-live") == "polite"


def test_by_keyboard_alone(browser: Any, night: Server) -> None:
    """Every stop is in sight (nothing that stands covers it), and the order is the page's."""
    with Visit(browser, night.address, "320x640") as visit:
        page, seen = visit.page, []
        for _ in range(16):
            page.keyboard.press("Tab")
            seen.append(page.evaluate("(document.activeElement.textContent || document.activeElement.id).trim()"))
            box, covered = page.evaluate(COVERED)
            assert not covered, (seen[-1], box)
        assert seen[0] == "Skip to the answer"
        places = [next(i for i, name in enumerate(seen) if want in name)
                  for want in ("Skip", "Night colours", "How long will the bag", "The tube came out", "text")]
        assert places == sorted(places)
        page.focus("#text")
        page.keyboard.type("how much is left")
        page.keyboard.press("Enter")
        assert "mL" in visit.answered("how much is left")


COVERED = """() => {
  const e = document.activeElement, box = e.getBoundingClientRect();
  const top = document.elementFromPoint(box.x + box.width / 2, box.y + box.height / 2);
  return [[box.x, box.y, box.width, box.height], !(top && (e.contains(top) || top.contains(e)))];
}"""


def test_enlarged_to_400_percent(browser: Any, night: Server) -> None:
    """1280 by 1024 at 400 % is 320 by 256: nothing stands over the text, nothing is cut off (WCAG 1.4.10)."""
    with Visit(browser, night.address, "320x640") as visit:
        visit.page.set_viewport_size({"width": 320, "height": 256})
        visit.is_sound()
        assert visit.page.locator(".stand").evaluate("e => getComputedStyle(e).position") == "static"
        visit.page.click("#wrong-open")
        visit.is_sound()


def test_nothing_moves_for_who_wants_no_motion(browser: Any, night: Server) -> None:
    with Visit(browser, night.address, reduced_motion="reduce") as visit:
        moving = visit.page.evaluate("""[...document.querySelectorAll("*")].filter((e) => {
          const s = getComputedStyle(e);
          return parseFloat(s.transitionDuration) > 0 || s.animationName !== "none" || s.scrollBehavior === "smooth";
        }).length""")
        assert moving == 0


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_night_colours_by_the_switch_and_7_to_1(browser: Any, night: Server, scheme: str) -> None:
    with Visit(browser, night.address, color_scheme=scheme) as visit:
        if scheme == "light":
            with visit.page.expect_response("**/colours"):                 # leaving the page would cut it off
                visit.press("Night colours", ".top")
            visit.page.wait_for_selector("html[data-colours=night]")
            visit.page.reload()
        visit.ask("the tube came out")
        for path in ("", *VIEWS):
            if path:
                visit.page.goto(path)
            low = [entry for entry in visit.page.evaluate(CONTRAST) if entry[1] < 7]
            assert not low, (path, low[:5])


# Each text's colour against the nearest ground behind it, by WCAG 2's relative luminance.
CONTRAST = """() => {
  const parse = (c) => (c.match(/[\\d.]+/g) || []).map(Number);
  const light = ([r, g, b]) => [r, g, b].map((v) => v / 255)
    .map((v) => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
    .reduce((sum, v, i) => sum + v * [0.2126, 0.7152, 0.0722][i], 0);
  const ground = (e) => {
    for (; e; e = e.parentElement) {
      const c = parse(getComputedStyle(e).backgroundColor);
      if (c.length === 3 || c[3] > 0) return c;
    }
    return [255, 255, 255];
  };
  const found = [];
  for (const e of document.querySelectorAll("body *")) {
    if (![...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim()) || !e.checkVisibility()) continue;
    const svg = e instanceof SVGElement;
    const ink = light(parse(svg ? getComputedStyle(e).fill : getComputedStyle(e).color)), back = light(ground(e));
    found.push([e.textContent.trim().slice(0, 40), (Math.max(ink, back) + 0.05) / (Math.min(ink, back) + 0.05)]);
  }
  return found;
}"""


@pytest.mark.parametrize("size", SIZES)
def test_the_handover_is_copied_and_the_sheet_is_framed(browser: Any, night: Server, size: str) -> None:
    with Visit(browser, night.address, size) as visit:
        visit.context.grant_permissions(["clipboard-read", "clipboard-write"])
        visit.page.goto("/handoff")
        visit.press("Copy")
        visit.page.wait_for_selector(".said:has-text('Copied.')")
        copied = visit.page.evaluate("navigator.clipboard.readText()")
        assert copied.startswith("Handover, 02:1") and "The overnight feed started at 20:45" in copied
        visit.page.goto("/print")
        sheet = visit.page.frame_locator("iframe")
        assert "Juniper" in sheet.locator("h1").inner_text()
        bold = sheet.locator(".loud").first.evaluate("e => getComputedStyle(e).fontWeight")
        assert bold == "700"                                               # its own style is let through by its hash


def test_no_two_pages_have_one_title(browser: Any, night: Server) -> None:
    with Visit(browser, night.address) as visit:
        titles = [(visit.page.goto(path), visit.page.title())[1] for path in ("/", *VIEWS)]
        same = [pair for pair in itertools.combinations(titles, 2) if pair[0] == pair[1]]
        assert not same and all(titles)


def test_the_check_itself_finds_what_is_wrong(browser: Any, night: Server) -> None:
    """A page whose field has lost its name, or that is too wide, does not pass."""
    with Visit(browser, night.address) as visit:
        for spoil in ("document.querySelector('label[for=text]').remove()",
                      "document.querySelector('#main').style.width = '2000px'",      # the strip may be put anew
                      "document.querySelector('.send').style.cssText = 'min-height:0;padding:0;font-size:9px'"):
            visit.page.reload()
            visit.page.evaluate(spoil)
            with pytest.raises(AssertionError):
                visit.is_sound()
