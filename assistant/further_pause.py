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
    """The same sum for what was lost before and this as well, a pause or an amount; None where none is added."""
    return _another_pause(text, heard, talk) or _another_amount(text, heard, talk)


def _another_amount(text: str, heard: Heard, talk: Talk) -> Question | None:
    """ "And he refused another 60": all that was missed."""
    same = talk.question == "catch_up" and talk.asks is None and (talk.last or {}).get("intent") == "catch_up"
    before, told = talk.slots.get("missed"), [a for a in heard.amounts if a.readings[0].kind not in BESIDE_IT]
    if not same or before is None or not is_amount(before.value) or len(told) != 1 or len(heard.tokens) > MOST_WORDS:
        return None
    reading = told[0].readings[0]
    volume = reading.kind in ("number", "volume") and reading.unit in ("", "mL")
    if not volume or not pattern("a_further_pause").search(text) or pattern("no_further_pause").search(text):
        return None
    kept = {name: used for name, used in talk.slots.items() if used.origin not in ("feed log", "clock")}
    kept["missed"] = Used((before.value + qty(reading.value, "mL")).to("mL"), "question")
    return Question("catch_up", carried=kept, follows=True, counts="")


def _another_pause(text: str, heard: Heard, talk: Talk) -> Question | None:
    """All that it stood still."""
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
