"""A printed page as PDF, from the very HTML that the browser prints: one layout, no second set of words.

WeasyPrint (extra [pdf]) was chosen over a library that draws text at places (fpdf2: the layout would be written twice,
and a typeface for other scripts brought along) and over Chromium (a browser of some hundred megabytes for one page).
It needs Pango from the system. Nothing is fetched while a page is laid out.
"""

from __future__ import annotations

PAPERS = ("A4", "Letter")


class NoPdf(Exception):
    """The extra [pdf], or Pango from the system, is missing."""


def pdf(html: str, paper: str) -> bytes:
    """The page on `paper` (one of PAPERS). Raises NoPdf."""
    try:
        from weasyprint import CSS, HTML
        from weasyprint.urls import URLFetcher
    except (ImportError, OSError):          # OSError: the library is there, Pango is not
        raise NoPdf from None
    size = CSS(string=f"@page {{ size: {paper}; }}")
    nothing = URLFetcher(allowed_protocols=())
    return bytes(HTML(string=html, url_fetcher=nothing).write_pdf(stylesheets=[size]))
