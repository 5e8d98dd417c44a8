"""The week as a picture (SVG 1.1): a bar a day, the planned amount as a line across it, every number written out.

`picture` is for paper and for a file of its own; `strip` is for the page, on a phone's width, beside the list that says
everything else.
"""

from __future__ import annotations

import textwrap
from decimal import Decimal
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from assistant.channels.report_commands import cells
from assistant.wording.show import day as dated
from knowledge.library import table

ROW, LEFT, WIDE, TOP = 44, 110, 420, 60
NOTE_LINE, NOTE_HIGH = 120, 15  # signs of a line below the picture, and its height
NARROW, NARROW_ROW = 316, 48


def picture(days: tuple[Any, ...]) -> str:
    """The whole file. Lengths are shares of the largest amount; a day that is not known has no bar and says so."""
    lines = table("handover_en")["week"]
    title = lines["title"].format(first=dated(days[0].on), last=dated(days[-1].on))
    most = _most(days)
    made = [f'<text x="10" y="24" font-size="16">{escape(title)}</text>']
    for i, day in enumerate(days):
        made.extend(_row(day, TOP + i * ROW, most, lines))
    low = TOP + len(days) * ROW
    for line in textwrap.wrap(lines["by_start"], NOTE_LINE):
        low += NOTE_HIGH
        made.append(f'<text x="10" y="{low}" font-size="11">{escape(line)}</text>')
    size = f'viewBox="0 0 760 {low + 14}" width="760" height="{low + 14}"'
    return (f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" aria-label={quoteattr(title)} '
            f'font-family="sans-serif" font-size="13">\n' + "\n".join(made) + "\n</svg>\n")


def strip(days: tuple[Any, ...]) -> str:
    """The bars alone, each below its day and what was given; newest first, as the list beside it."""
    lines, most = table("handover_en")["week"], _most(days)
    title = lines["title"].format(first=dated(days[0].on), last=dated(days[-1].on))
    made = []
    for i, day in enumerate(reversed(days)):
        name, _, given, planned, *_ = cells(day)
        y = i * NARROW_ROW
        made.append(f"<g><title>{escape(lines['aria'].format(day=name, given=given, planned=planned))}</title>"
                    f'<text x="2" y="{y + 15}">{escape(name)}</text>'
                    f'<text x="318" y="{y + 15}" text-anchor="end">{escape(given)}</text>'
                    f'<rect class="all" x="2" y="{y + 22}" width="{NARROW}" height="14"/>')
        if day.given is not None:
            made.append(f'<rect x="2" y="{y + 22}" width="{_long(day.given, most, NARROW)}" height="14"/>')
        if day.planned is not None:
            at = 2 + _long(day.planned, most, NARROW)
            made.append(f'<line x1="{at}" y1="{y + 20}" x2="{at}" y2="{y + 40}" stroke-width="3"/>')
        made.append("</g>")
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 320 {len(days) * NARROW_ROW - 4}" role="img" '
            f'aria-label={quoteattr(title)} class="week-strip">{"".join(made)}</svg>')


def _most(days: tuple[Any, ...]) -> float:
    return max([float(a.magnitude) for d in days for a in (d.given, d.planned) if a is not None] + [1.0])


def _row(day: Any, y: int, most: float, lines: Any) -> list[str]:
    name, _, given, planned, water, missed, sick, notes = cells(day)
    said = lines["aria"].format(day=name, given=given, planned=planned)
    made = [f"<g><title>{escape(said)}</title>", f'<text x="10" y="{y + 16}">{escape(name)}</text>']
    if day.given is not None:
        made.append(f'<rect x="{LEFT}" y="{y + 2}" width="{_long(day.given, most)}" height="18" fill="#3b6ea5"/>')
    if day.planned is not None:
        at = LEFT + _long(day.planned, most)
        made.append(f'<line x1="{at}" y1="{y - 2}" x2="{at}" y2="{y + 24}" stroke="#222" stroke-width="2"/>')
    heads = lines["columns"]
    beside = "; ".join(f"{heads[i]} {value}" for i, value in ((4, water), (5, missed), (6, sick), (7, notes)))
    made.append(f'<text x="{LEFT + WIDE + 20}" y="{y + 16}">{escape(given)}</text>')
    made.append(f'<text x="{LEFT}" y="{y + 34}" font-size="10">{escape(beside)}</text></g>')
    return made


def _long(amount: Any, most: float, wide: int = WIDE) -> Decimal:
    return (Decimal(amount.magnitude) / Decimal(most) * wide).quantize(Decimal("0.1"))
