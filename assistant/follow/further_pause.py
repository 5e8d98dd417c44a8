""" "And another twenty minutes at eleven, so altogether?", after how far behind: all of the pauses together.

It was once taken for the whole of what was lost.
"""

from __future__ import annotations

from assistant.dialogue import Talk
from assistant.follow.following import standing
from assistant.follow.nearest import meant_slot
from assistant.follow.turns import Question, pattern
from assistant.message import Heard, Reading
from assistant.numbers.wants import Used
from rules.quantity import Quantity, is_amount, qty

PUT = "case"  # a pause of a run of the log that is only put: it is not in the log, and counts
MOST_WORDS = 25
BESIDE_IT = frozenset({"day", "date", "clock"})  # when it was
RUNS = frozenset({"delivered", "remaining", "finish_at"})
HALF_A_DAY, LONGEST_PAUSE = 720, 360  # minutes; a longer one is likelier misheard


def further_pause(text: str, heard: Heard, talk: Talk) -> Question | None:
    """The same sum for what was lost before and this as well, a pause or an amount; None where none is added."""
    return _another_pause(text, heard, talk) or _another_amount(text, heard, talk) or _pause_of_a_run(text, heard, talk)


def without_the_pause(text: str, heard: Heard, talk: Talk) -> Question | None:
    """ "She started it at 20 to 9. Forget the pee thing", "actually without the stop": the run with no pause."""
    same = talk.question in RUNS and talk.asks is None and (talk.last or {}).get("intent") == talk.question
    if not same or "off" not in talk.slots or len(heard.tokens) > MOST_WORDS or not pattern("no_pause").search(text):
        return None
    kept = {name: used for name, used in standing(text, heard, talk, ()).items() if name != "off"}
    return Question(str(talk.question), carried=kept, favours=meant_slot(heard, talk), follows=True)


def _pause_of_a_run(text: str, heard: Heard, talk: Talk) -> Question | None:
    """ "There was another stop, 1 till quarter past", "what if I stop it for 40 minutes": the run just reckoned, with
    that pause too. A run of the log is left to the log, unless a pause is only put as a case."""
    same = talk.question in RUNS and talk.asks is None and (talk.last or {}).get("intent") == talk.question
    start, off = talk.slots.get("start"), talk.slots.get("off")
    if not same or start is None or start.origin == "feed log" or len(heard.tokens) > MOST_WORDS:
        return None
    by_log = any(used.origin == "feed log" for used in talk.slots.values())
    if by_log and not pattern("supposed").search(text):
        return None  # "I paused her at 23:05, running again from 23:25": written down, then counted
    stood = pattern("stands_still").search(text) and not pattern("no_further_pause").search(text)
    beside = off is not None and pattern("and_so_long_when").match(text)  # "oh and 10 min when Dad changed the bag"
    if not beside and (
        not stood or not (pattern("a_further_pause").search(text) or pattern("supposed").search(text))
    ):
        return None
    lasted = _lasted([a.readings[0] for a in heard.amounts])
    if lasted is None:
        return None
    before = off.value if off is not None and is_amount(off.value) else qty(0, "min")
    kept = {name: used for name, used in talk.slots.items() if used.origin != "clock" or name == "start"}
    kept["start"] = Used(start.value, "question", start.words)
    kept["off"] = Used((before + lasted).to("min"), "question")
    if by_log:
        kept[PUT] = Used(True, "question")
    return Question(str(talk.question), carried=kept, follows=True, counts="")


def _lasted(told: list[Reading]) -> Quantity | None:
    """One length of time, or from one hour to a later one; None where anything else is told."""
    times = [r for r in told if r.kind == "time" and r.unit in ("h", "min")]
    clocks = [int(r.value) for r in told if r.kind == "clock"]
    if len(told) == len(times) == 1:
        return qty(times[0].value, times[0].unit)
    if len(told) == len(clocks) == 2:
        minutes = (clocks[1] - clocks[0]) % HALF_A_DAY
        return qty(minutes, "min") if 0 < minutes <= LONGEST_PAUSE else None
    return None


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
