"""What is asked to be decided, and is the care team's to decide: which rate to put somebody on, a part left out.

The answer is the card that says so; the words are data: knowledge/team_decides_en.toml.
"""

from __future__ import annotations

import re
from functools import cache

from assistant.message import Heard
from knowledge.library import table

DATED = ("day", "date")
LONGEST = 40  # words; in a longer one something else is told as well


@cache
def _pattern(name: str) -> re.Pattern[str]:
    return re.compile(table("team_decides_en")["patterns"][name], re.IGNORECASE)


def team_decides(text: str, heard: Heard) -> str | None:
    """The card for what is asked to be decided; None where nothing is."""
    if len(heard.tokens) > LONGEST:
        return None
    told = [a for a in heard.amounts if a.readings[0].kind not in DATED]
    if not told and _pattern("which_rate").search(text) and _pattern("because_of_growth").search(text):
        return "growing_out_of_plan"
    leaves = _pattern("leaves_out").search(text) and _pattern("may_it_be").search(text)
    return "missed_feed" if leaves and not _pattern("another_thing").search(text) else None
