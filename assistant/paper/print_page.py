"""One printed page: headed boxes of short lines as HTML that stands alone, with its style and its picture inside."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from html import escape
from pathlib import Path

SIDES = ("top", "left", "right", "bottom")  # where a box stands: across the page, or in one of two columns
TOGETHER = re.compile(r"(?<=\d) (?=(?:mL|h|min|cm|Fr|g|drops|am|pm)\b)")  # a number and its unit stay on one line


@dataclass(frozen=True)
class Box:
    """A heading and its lines. `kind` names classes of print.css: plain, loud, numbers, steps, ticks, pairs."""

    heading: str
    lines: tuple[str, ...]
    kind: str = "plain"
    side: str = "left"


@cache
def style() -> str:
    return Path(__file__).with_name("print.css").read_text(encoding="utf-8")


def page(
    title: str, made: str, boxes: Sequence[Box], foot: Iterable[str], picture: str = "", size: str = "large"
) -> str:
    """The whole page: no script, nothing fetched. `size` is a class of print.css.

    `picture` is SVG of our own making; everything else is escaped.
    """
    parts = ['<!doctype html><html lang="en"><head><meta charset="utf-8">', f"<title>{escape(title)}</title>"]
    parts += [f'<style>{style()}</style></head><body class="{size}">']
    parts += [f"<header><div><h1>{escape(title)}</h1><p>{escape(made)}</p></div>{picture}</header>"]
    for side in [s for s in SIDES if any(box.side == s for box in boxes)]:
        parts.append(f'<div class="{side}">')
        parts += [_box(box) for box in boxes if box.side == side]
        parts.append("</div>")
    parts.append(f"<footer>{''.join(f'<p>{escape(line)}</p>' for line in foot)}</footer></body></html>")
    return "\n".join(parts)


def _box(box: Box) -> str:
    kind = "ol" if "steps" in box.kind.split() else "ul"
    rows = "".join(f"<li>{TOGETHER.sub('&nbsp;', escape(line))}</li>" for line in box.lines)
    return f'<section class="{box.kind}"><h2>{escape(box.heading)}</h2><{kind}>{rows}</{kind}></section>'


def code_of(address: str) -> str:
    """The QR code (ISO/IEC 18004) of an address, as SVG. Reads from print with a fifth of it spoilt."""
    import segno

    made = segno.make(address, error="q", micro=False)
    return str(made.svg_inline(scale=3, border=4, title=address))
