"""The week as a picture (SVG 1.1): a bar a day, the planned amount as a line across it, every number written out."""

from __future__ import annotations

from decimal import Decimal
from typing import Any
from xml.sax.saxutils import escape, quoteattr

from assistant.channels.report_commands import cells
from assistant.show import day as dated
from knowledge.library import table

ROW, LEFT, WIDE, TOP = 44, 110, 420, 60


def picture(days: tuple[Any, ...]) -> str:
    """The whole file. Lengths are shares of the largest amount; a day that is not known has no bar and says so."""
    lines = table("handover_en")["week"]
    title = lines["title"].format(first=dated(days[0].on), last=dated(days[-1].on))
    most = max([float(a.magnitude) for d in days for a in (d.given, d.planned) if a is not None] + [1.0])
    made = [f'<text x="10" y="24" font-size="16">{escape(title)}</text>']
    for i, day in enumerate(days):
        made.extend(_row(day, TOP + i * ROW, most, lines))
    low = TOP + len(days) * ROW
    made.append(f'<text x="10" y="{low + 16}" font-size="11">{escape(lines["by_start"])}</text>')
    size = f'viewBox="0 0 760 {low + 30}" width="760" height="{low + 30}"'
    return (f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" aria-label={quoteattr(title)} '
            f'font-family="sans-serif" font-size="13">\n' + "\n".join(made) + "\n</svg>\n")


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


def _long(amount: Any, most: float) -> Decimal:
    return (Decimal(amount.magnitude) / Decimal(most) * WIDE).quantize(Decimal("0.1"))
