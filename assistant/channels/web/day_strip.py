"""The plan's day as a picture (SVG 1.1): feeds as bars from midnight to midnight, and a line for now.

The list beside it says the same in words, so the picture is hidden from screen readers.
"""

from __future__ import annotations

from datetime import timedelta
from xml.sax.saxutils import escape

from assistant.gather.timetable import day_feed
from assistant.night import Night
from rules.clock import midnight

WIDE, HIGH = 288, 56  # 12 units an hour
BAR_TOP, BAR_HIGH = 8, 22


def day_strip(night: Night) -> str:
    """The whole picture; empty where the plan names no time of day."""
    timed = [feed for feed in night.feeds if feed.start is not None]
    if not timed:
        return ""
    start = midnight(night.now)
    made = [f'<rect class="day" x="0" y="{BAR_TOP}" width="{WIDE}" height="{BAR_HIGH}" rx="4"/>']
    for back in (1, 0):
        for feed in timed:
            planned = day_feed(feed, start - timedelta(days=back))
            first = _place(planned.start - start)
            last = _place((planned.finish or planned.start) - start)
            first, last = max(first, 0), min(max(last, first + 4), WIDE)
            if first < WIDE and last > 0 and last > first:
                made.append(f'<rect class="feed" x="{first}" y="{BAR_TOP}" width="{last - first}" '
                            f'height="{BAR_HIGH}" rx="4"><title>{escape(feed.name)}</title></rect>')
    for hour in range(0, 25, 6):
        anchor = {0: "start", 24: "end"}.get(hour, "middle")
        made.append(f'<text x="{min(hour * 12, WIDE)}" y="{HIGH - 6}" text-anchor="{anchor}">{hour}</text>')
    now = min(max(_place(night.now - start), 2), WIDE - 2)  # the whole line in sight, at midnight too
    made.append(f'<path class="now" d="M{now} 2 V{BAR_TOP + BAR_HIGH + 6}"/>')
    return (f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDE} {HIGH}" aria-hidden="true" focusable="false" '
            f'class="day-strip">{"".join(made)}</svg>')


def _place(since_midnight: timedelta) -> int:
    return round(since_midnight.total_seconds() / 300)
