"""Is something outside tube feeding asked, in words that a question of ours has too ("how many calories in a muffin")?

The words are data: knowledge/outside_en.toml. A word that ties the message to a feed, an amount with a unit of
feeding, or somebody who is fed makes it ours.
"""

from __future__ import annotations

import re
from functools import cache

from assistant.clauses.own_sentence import WITH_UNIT
from assistant.message import Heard
from assistant.numbers.number_pairs import beside
from knowledge.library import table

NUTRITION = frozenset({"energy", "protein", "water", "per_kg"})


@cache
def _pattern(name: str) -> re.Pattern[str]:
    return re.compile(table("outside_en")["patterns"][name], re.IGNORECASE)


def asks_of_the_world(intent: str, text: str, heard: Heard) -> bool:
    """Is what looks like the question `intent` asked of something that is no feed?"""
    if any(a.readings[0].kind in WITH_UNIT for a in heard.amounts):
        return False
    if _pattern("the_time").search(text):
        return True
    ours = _pattern("named_too").sub(" ", text.lower())
    if intent in NUTRITION and (_pattern("foods").search(text) or _pattern("of_a_food").search(text)):
        rest = _pattern("of_nutrition").sub(" ", ours)
        return not (beside("tied").search(rest) or beside("half_tied").search(rest))
    if beside("tied").search(ours):
        return False
    return _pattern("things").search(text) is not None
