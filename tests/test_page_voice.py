"""Microphone and voice of the page: only what the browser itself does on this phone; everywhere else no button."""

from __future__ import annotations

from typing import Any

import pytest
from browser import Visit, needs_a_browser
from page_server import Server

needs_a_browser()


# Stands for the browser's speech: the voices named, and what was said in `window.said`. It speaks until it is stopped.
VOICES = """
window.said = []; window.stopped = 0;
window.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
Object.defineProperty(window, "speechSynthesis", { value: {
  getVoices: () => %s, addEventListener: () => {}, cancel: () => { window.stopped += 1; },
  speak: (words) => { window.said.push([words.text, words.voice.name]); window.last = words; },
} });
"""
LOCAL = '[{name: "far", lang: "en-US", localService: false}, {name: "near", lang: "en-GB", localService: true}]'
FAR = '[{name: "far", lang: "en-US", localService: false}, {name: "odd", lang: "en-US"}]'
FOREIGN = '[{name: "fern", lang: "de-DE", localService: true}]'

# Stands for the browser's recogniser; `window.asked` holds what it was asked for, `window.ears` the one that was made.
EARS = """
window.asked = []; window.webkitSpeechRecognition = undefined;
class Ears extends EventTarget {
  static async available(what) { window.asked.push(what); return "%s"; }
  constructor() { super(); window.ears = this; }
  start() { window.started = (window.started ?? 0) + 1; }
  stop() { this.dispatchEvent(new Event("end")); }
  hear(words) {
    const event = new Event("result");
    event.results = words === null ? [] : [[{ transcript: words }]];
    this.dispatchEvent(event); this.dispatchEvent(new Event("end"));
  }
}
if (%s) Object.defineProperty(Ears.prototype, "processLocally", { value: false, writable: true });
window.SpeechRecognition = Ears;
"""


def opened(visit: Visit, script: str) -> Any:
    visit.context.add_init_script(script)
    visit.page.reload()
    visit.page.wait_for_load_state("load")
    return visit.page


@pytest.mark.parametrize("voices", [FAR, FOREIGN, "[]"], ids=["far", "foreign", "none"])
def test_without_a_voice_on_this_phone_nothing_is_offered(browser: Any, night: Server, voices: str) -> None:
    with Visit(browser, night.address) as visit:
        page = opened(visit, VOICES % voices)
        visit.ask("how much is left")
        assert not page.locator("#aloud").is_visible() and not page.locator("#answer .read").is_visible()
        assert page.evaluate("window.said") == []


def test_an_answer_is_read_by_the_near_voice_and_one_tap_stops_it(browser: Any, night: Server) -> None:
    with Visit(browser, night.address) as visit:
        page = opened(visit, VOICES % LOCAL)
        visit.ask("how long will 360 last at 72")
        assert page.evaluate("window.said") == []                          # off at first
        visit.press("Read aloud", "#answer")
        [[text, voice]] = page.evaluate("window.said")
        assert voice == "near" and "five hours" in text
        visit.is_sound()
        before = page.evaluate("window.stopped")
        visit.press("Stop reading", "#answer")
        assert page.evaluate("window.stopped") == before + 1
        visit.press("Read aloud", "#answer")
        page.evaluate("window.last.onend()")                               # it came to its end by itself
        assert page.locator("#answer .read").inner_text() == "Read aloud"


def test_the_switch_is_remembered_and_off_at_first(browser: Any, night: Server) -> None:
    with Visit(browser, night.address) as visit:
        page = opened(visit, VOICES % LOCAL)
        switch = page.get_by_role("switch", name="Read answers aloud")
        assert switch.get_attribute("aria-checked") == "false" and "off" in switch.inner_text()
        switch.click()
        assert switch.get_attribute("aria-checked") == "true" and "on" in switch.inner_text()
        page.reload()
        assert switch.get_attribute("aria-checked") == "true"
        visit.ask("how much is left")
        assert len(page.evaluate("window.said")) == 1
        visit.is_sound()
        page.click("#wrong-open")                                          # a danger too, with its own stop
        page.get_by_role("dialog").get_by_text("Choking", exact=True).click()
        page.get_by_role("dialog").get_by_role("button", name="Stop reading").wait_for()
        visit.until("window.said.length > 1")                              # until then the button is the first answer's
        assert len(page.evaluate("window.said")) == 2
        visit.is_sound()
        before = page.evaluate("window.stopped")
        page.get_by_role("dialog").get_by_role("button", name="Stop reading").click()
        assert page.evaluate("window.stopped") == before + 1
        page.keyboard.press("Escape")
        switch.click()
        visit.ask("when does the feed end")
        assert len(page.evaluate("window.said")) == 2
        page.reload()
        assert switch.get_attribute("aria-checked") == "false"


@pytest.mark.parametrize(("found", "local"), [
    ("downloadable", "true"), ("downloading", "true"), ("unavailable", "true"), ("available", "false"),
])
def test_without_a_recogniser_on_this_phone_there_is_no_microphone(
    browser: Any, night: Server, found: str, local: str
) -> None:
    """Nothing is fetched for it either: one that would have to be loaded first counts as none."""
    with Visit(browser, night.address) as visit:
        page = opened(visit, EARS % (found, local))
        visit.ask("how much is left")
        assert not page.locator("#mic").is_visible()
        assert page.evaluate("window.ears") is None


@pytest.mark.parametrize("script", [
    "window.SpeechRecognition = undefined; window.webkitSpeechRecognition = undefined;",
    "window.SpeechRecognition = undefined; window.webkitSpeechRecognition = class {};",    # it says nothing of where
    EARS % ("available", "true") + "Ears.available = async () => { throw new Error('no'); };",
    EARS % ("available", "true") + "Object.defineProperty(window, 'isSecureContext', { value: false });",
], ids=["none", "old", "failing", "plain http"])
def test_a_browser_that_does_not_say_so_gets_no_microphone(browser: Any, night: Server, script: str) -> None:
    with Visit(browser, night.address) as visit:
        page = opened(visit, script)
        visit.ask("how much is left")
        assert not page.locator("#mic").is_visible()


def test_what_is_heard_is_put_in_the_box_and_never_sent_by_itself(browser: Any, night: Server) -> None:
    with Visit(browser, night.address, "320x640") as visit:
        page = opened(visit, EARS % ("available", "true"))
        page.wait_for_selector("#mic")
        assert page.evaluate("[window.ears.processLocally, window.asked[0].processLocally]") == [True, True]
        visit.press("Speak")
        assert page.evaluate("window.started") == 1 and "Listening" in page.inner_text("#heard")
        visit.is_sound()
        page.evaluate("window.ears.hear('how long will 360 last at 72')")
        assert page.input_value("#text") == "how long will 360 last at 72"
        assert "every number" in page.inner_text("#heard")
        assert not page.locator("#answer .answer").count() and not any(u.endswith("/ask") for u in visit.asked)
        visit.press("Ask")
        assert "5 h" in visit.answered("how long will 360 last at 72")
        visit.press("Speak")
        visit.press("Stop listening")
        assert "Nothing was heard" in page.inner_text("#heard")
        visit.press("Speak")
        page.evaluate("window.ears.hear(null)")
        assert "Nothing was heard" in page.inner_text("#heard") and page.input_value("#text") == ""


def test_the_microphone_is_let_in_on_the_one_page_that_has_the_button(night: Server) -> None:
    with night.client() as client:
        assert "microphone=(self)" in client.get("/").headers["permissions-policy"]
        assert "microphone=()" in client.get("/log").headers["permissions-policy"]
