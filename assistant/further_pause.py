""" "And another twenty minutes at eleven, so altogether?", after how far behind: all of the pauses together.

It was once taken for the whole of what was lost.
"""

from __future__ import annotations

from assistant.dialogue import Talk
from assistant.message import Heard
from assistant.turns import Question, pattern
from assistant.wants import Used
from rules.quantity import is_amount, qty

MOST_WORDS = 25
BESIDE_IT = frozenset({"day", "date", "clock"})  # when it was


def further_pause(text: str, heard: Heard, talk: Talk) -> Question | None:
    """The same sum for the pause of before and this one; None where none is added."""
    same = talk.question == "catch_up" and talk.asks is None and (talk.last or {}).get("intent") == "catch_up"
    off = talk.slots.get("off")
    if not same or off is None or not is_amount(off.value) or len(heard.tokens) > MOST_WORDS:
        return None
    told = [a.readings[0] for a in heard.amounts]
    times = [r for r in told if r.kind == "time" and r.unit in ("h", "min")]
    if len(times) != 1 or any(r.kind not in BESIDE_IT for r in told if r is not times[0]):
        return None
    if not pattern("a_further_pause").search(text) or pattern("no_further_pause").search(text):
        return None
    more = qty(times[0].value, times[0].unit)
    kept = {name: used for name, used in talk.slots.items() if used.origin not in ("feed log", "clock")}
    kept["off"] = Used((off.value + more).to("min"), "question")
    return Question("catch_up", carried=kept, follows=True, counts="")
