"""Debian's Chromium driven by Playwright, and axe-core, for the tests of the page. Skips, with a reason, without."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from urllib.parse import urlsplit

import pytest

CHROMIUM = os.environ.get("BAGSIDE_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
QUIET = ["--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage",
         "--autoplay-policy=no-user-gesture-required"]
SIZES = {"320x640": (320, 640), "390x844": (390, 844), "1280x800": (1280, 800)}

WAITS_S = 30        # for what a page is to show, on a machine that is busy with other things


def needs_a_browser() -> None:
    """Skip the whole module, saying what is missing."""
    pytest.importorskip("playwright", reason="Playwright is not installed (the extra `browser`)")
    pytest.importorskip("axe_playwright_python", reason="axe-core is not installed (the extra `browser`)")
    if CHROMIUM is None:
        pytest.skip("no chromium here (Debian: apt-get install chromium)", allow_module_level=True)


@contextmanager
def started() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    root = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=CHROMIUM, args=[*QUIET, *root])
        yield browser
        browser.close()


class Visit:
    """One browser on the page. At its end: every request stayed on the host, and no script failed."""

    def __init__(self, browser: Any, address: str, size: str = "390x844", **more: Any) -> None:
        wide, high = SIZES[size]
        self.context = browser.new_context(viewport={"width": wide, "height": high}, base_url=address, **more)
        self.context.set_default_timeout(WAITS_S * 1000)
        self.asked: list[str] = []
        self.faults: list[str] = []
        self.host = urlsplit(address).netloc
        self.context.on("request", lambda request: self.asked.append(request.url))
        self.page = self.context.new_page()
        self.page.on("pageerror", lambda fault: self.faults.append(str(fault)))

    def __enter__(self) -> Visit:
        self.page.goto("/")
        return self

    def __exit__(self, *failed: object) -> None:
        self.context.close()
        if failed[0] is None:
            assert {urlsplit(url).netloc for url in self.asked if url != "about:blank"} == {self.host}
            assert not self.faults

    def ask(self, text: str) -> str:
        """Type it, send it, and wait for its answer."""
        self.page.wait_for_load_state()                                        # before its script, Enter is a new line
        self.page.fill("#text", text)
        self.page.press("#text", "Enter")
        return self.answered(text)

    def answered(self, heard: str) -> str:
        self.page.wait_for_selector(f"#answer .heard:has-text('{heard}')")
        return self.answer

    def until(self, asked: str) -> Any:
        """Wait until this script, or its promise, gives something; what it gives.

        (`wait_for_function` evaluates text in the page, which the page's own policy forbids.)
        """
        for _ in range(WAITS_S * 10):
            if found := self.page.evaluate(asked):
                return found
            self.page.wait_for_timeout(100)
        raise AssertionError(asked)

    def press(self, name: str, within: str = "main") -> None:
        self.page.locator(within).get_by_role("button", name=name, exact=True).first.click()

    @property
    def answer(self) -> str:
        return str(self.page.inner_text("#answer")).replace("\u00a0", " ")

    @property
    def lead(self) -> str:
        return re.sub(r"\s+", " ", str(self.page.inner_text("#answer .lead"))).strip()

    def is_sound(self) -> None:
        """axe-core finds nothing; nothing is cut off at the side; what is pressed is large enough."""
        from axe_playwright_python.base import AXE_SCRIPT, AxeResults

        if not self.page.evaluate("Boolean(window.axe)"):                  # half a megabyte: once a page
            self.page.evaluate(AXE_SCRIPT)
        found = AxeResults({"violations": self.page.evaluate(AXE)})
        assert found.violations_count == 0, found.generate_report()
        wide = self.page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
        assert wide[0] <= wide[1], f"the page is wider than the screen: {wide}"
        small = self.page.evaluate(SMALL)
        assert not small, f"too small to press: {small}"


AXE = "axe.run({resultTypes: ['violations']}).then((found) => found.violations)"

# Targets of 44 by 44 CSS px (WCAG 2.2, 2.5.5); links within a sentence are excepted there.
SMALL = """() => [...document.querySelectorAll(
    "button, summary, input:not([type=hidden]), textarea, .more a, .call, .stand a")]
  .filter((e) => e.checkVisibility() && (e.closest("dialog") === null || e.closest("dialog").open))
  .map((e) => [e.textContent.trim().slice(0, 30), e.getBoundingClientRect()])
  .filter(([, box]) => box.width > 0 && (box.width < 44 || box.height < 44))
  .map(([name, box]) => [name, box.width, box.height])"""
