"""The household's sheet and the handover as PDF: read back by another library (pypdf), on both papers, one page, whole.

Paper sizes: ISO 216 (A4: 210 mm x 297 mm) and ANSI/ASME Y14.1 (Letter: 8.5 in x 11 in); a point is 1/72 in.
"""

from __future__ import annotations

import builtins
import io
from pathlib import Path
from typing import Any

import pytest
from conftest import DEMO
from night import a_night
from test_sheet import PAGE, PLANS, Seen, night

from assistant.cli import main
from assistant.household.home import Home
from assistant.paper import sheet
from assistant.paper.pdf import NoPdf, pdf

pypdf = pytest.importorskip("pypdf", reason="pypdf, which reads the pages back, is not installed")
try:
    pdf("<p>x</p>", "A4")
except NoPdf:
    pytest.skip("the extra [pdf] (WeasyPrint), or Pango, is not installed", allow_module_level=True)

POINTS = {"A4": (210 / 25.4 * 72, 297 / 25.4 * 72), "Letter": (8.5 * 72, 11 * 72)}
Capture = pytest.CaptureFixture[str]


def squeezed(text: str) -> str:
    """Without spaces: where a line is broken is the page's affair."""
    return "".join(text.split())


@pytest.mark.parametrize("paper", POINTS)
@pytest.mark.parametrize("plan", PLANS)
def test_the_sheet_is_one_page_with_every_word_of_it(plan: str, paper: str, tmp_path: Path) -> None:
    out = tmp_path / "sheet.pdf"
    argv = ["sheet", "--plan", str(DEMO / f"{plan}.toml"), "--now", "2026-11-25T18:00", "--page-url", PAGE]
    assert main([*argv, "--out", str(out), "--pdf", paper]) == 0
    pages = pypdf.PdfReader(out).pages
    assert len(pages) == 1
    assert tuple(float(side) for side in pages[0].mediabox[2:]) == pytest.approx(POINTS[paper], abs=0.1)
    text = squeezed(pages[0].extract_text())
    for words in Seen(sheet.household_sheet(night(plan))).words:
        assert squeezed(words) in text, words


@pytest.mark.parametrize("paper", POINTS)
@pytest.mark.parametrize("who", [[], ["--nurse"]])
def test_the_handover_holds_every_line(records: Home, tmp_path: Path, paper: str, who: list[str],
                                       capsys: Capture) -> None:
    a_night(records)
    out, argv = tmp_path / "handover.pdf", ["handoff", "--home", str(records.folder), "--now", "2026-11-25T23:45", *who]
    assert main([*argv, "--pdf", str(out), "--paper", paper]) == 0
    capsys.readouterr()
    assert main(argv) == 0
    pages = pypdf.PdfReader(out).pages
    assert tuple(float(side) for side in pages[0].mediabox[2:]) == pytest.approx(POINTS[paper], abs=0.1)
    text = squeezed("".join(page.extract_text() for page in pages))
    for line in capsys.readouterr().out.splitlines():
        assert squeezed(line) in text, line


def test_nothing_is_fetched_for_a_page() -> None:
    """A page that names a file of the computer or an address gets neither; the rest of it is there."""
    made = pdf('<p>here<img src="file:///etc/hostname"><img src="http://127.0.0.1:9/x.png"></p>', "A4")
    assert pypdf.PdfReader(io.BytesIO(made)).pages[0].extract_text().strip() == "here"
    assert not pypdf.PdfReader(io.BytesIO(made)).pages[0].images


def test_without_the_library_it_says_what_to_do(tmp_path: Path, capsys: Capture,
                                                monkeypatch: pytest.MonkeyPatch) -> None:
    real = builtins.__import__

    def missing(name: str, *more: Any) -> Any:
        if name == "weasyprint":
            raise OSError("cannot load library 'libpango-1.0-0'")
        return real(name, *more)

    monkeypatch.setattr(builtins, "__import__", missing)
    out = tmp_path / "sheet.pdf"
    assert main(["sheet", "--plan", str(DEMO / "adult_syringe.toml"), "--out", str(out), "--pdf", "A4"]) == 2
    assert "bagside[pdf]" in capsys.readouterr().err and not out.exists()


def test_a_pdf_needs_a_file_and_a_place_that_can_be_written(tmp_path: Path, capsys: Capture) -> None:
    argv = ["sheet", "--plan", str(DEMO / "adult_syringe.toml"), "--pdf", "A4"]
    assert main(argv) == 2 and "--out" in capsys.readouterr().err
    assert main([*argv, "--out", str(tmp_path / "no" / "x.pdf")]) == 2
    assert capsys.readouterr().err.count("\n") == 1
