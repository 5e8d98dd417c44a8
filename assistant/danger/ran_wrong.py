"""A rate that ran and was not the one meant ("typed 550 not 55, and it ran since two"): too fast, said outright.

So is a feed of which far more went in than is ordered ("all 600 of lunch in", where 200 are).
"""

from __future__ import annotations

import re

from assistant.danger.enough import too_much
from assistant.danger.frames import frames
from assistant.danger.here_and_now import pattern, told
from assistant.night import Night, feed_rate
from rules.quantity import number

CARD = "overfeed"
_CLAUSE = re.compile(r",(?!\d)\s*|[.!?;]\s+")
TOO_FAST = 1.5  # times the rate that was meant


def ran_too_fast(text: str, night: Night) -> bool:
    """Has the feed run too fast, or at a rate far above the one meant? Only where it is told, never put as a case."""
    if told("not_yet_run", text):
        return False
    if any(told("of_a_meal", clause) and too_much(clause, night) for clause in _CLAUSE.split(text)):
        return True
    if told("all_gone", text) and _far_above_the_order(text, night):
        return True
    if told("gone_in_minutes", text) and night.feeds and all(f.method == "pump" for f in night.feeds):
        return True  # "the whole pack's away in forty minutes", where a feed runs for hours
    if told("ran_fast", text) and "?" not in text and not frames(text):
        return True  # "he's been running at 95 all night, too fast"
    if not told("it_ran", text):
        return False
    return any(
        float(met["ran"]) >= TOO_FAST * float(met["meant"]) > 0 for met in pattern("set_for_another").finditer(text)
    )


def _far_above_the_order(text: str, night: Night) -> bool:
    """ "I set it going at 560 and the whole bag is gone", where 56 is ordered."""
    pumped = [rate for feed in night.feeds if feed.method == "pump" and (rate := feed_rate(feed)) is not None]
    most = max((float(number(rate, "mL/h")) for rate in pumped), default=0.0)
    return most > 0 and any(float(met["ran"]) >= TOO_FAST * most for met in pattern("set_going_at").finditer(text))
