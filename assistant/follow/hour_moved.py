""" "Ok, 8:30 then?", after what rate it takes from three to nine: the one of the two times that it is far nearer to."""

from __future__ import annotations

from datetime import datetime, timedelta

from assistant.dialogue import Talk
from assistant.follow.turns import Question, after_a_sum, only_a_value, pattern
from assistant.message import Heard
from assistant.numbers.wants import Used

OF_TWO = ("start", "finish")
QUITE_NEAR, MOST_WORDS = 150, 14  # minutes
HALF_A_DAY, A_DAY = 720, 1440


def hour_moved(text: str, heard: Heard, talk: Talk) -> Question | None:
    """The last sum with its start or its end moved to the one time told; None where it may be either, or more is asked.

    The time is taken in the half of the day that the moved one stood in.
    """
    told = [a for a in heard.amounts if a.readings[0].kind not in ("day", "date")]
    said = {n: u for n, u in talk.slots.items() if u.origin == "question" and isinstance(u.value, datetime)}
    said = {n: u for n, u in said.items() if n in OF_TWO}
    if not after_a_sum(talk) or len(told) != 1 or len(said) != len(OF_TWO) or len(heard.tokens) > MOST_WORDS:
        return None
    reading = told[0].readings[0]
    put = only_a_value(heard) or pattern("what_if").match(text)
    if reading.kind != "clock" or reading.unit == "hand" or not put:
        return None
    around = HALF_A_DAY if reading.unit == "12h" else A_DAY
    by = {n: (int(reading.value) - u.value.hour * 60 - u.value.minute + around // 2) % around - around // 2
          for n, u in said.items()}
    near, far = sorted(by, key=lambda n: abs(by[n]))
    if abs(by[near]) > QUITE_NEAR or abs(by[far]) < 2 * abs(by[near]):
        return None
    kept = {n: u for n, u in talk.slots.items() if u.origin not in ("feed log", "clock")}
    moved = said[near].value + timedelta(minutes=by[near])  # on the wall clock, of the same day
    kept[near] = Used(moved, "question", told[0].text)
    return Question(str(talk.question), carried=kept, follows=True, counts="")
