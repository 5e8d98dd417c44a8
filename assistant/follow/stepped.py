""" "And if it had been an hour later?", right after a sum: its one time of day moved by so much, and nothing else."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from assistant.clauses.own_words import own_words
from assistant.dialogue import Talk
from assistant.follow.turns import LONG, Question, after_a_sum, pattern
from assistant.message import Heard
from knowledge.library import table
from rules.clock import earlier, later
from rules.quantity import Quantity, qty

NOT_MOVED = ("feed log", "clock")  # what was done at its hour was done then


def stepped(text: str, heard: Heard, talk: Talk) -> Question | None:
    """The last sum with its time moved; a question back where it has no time, or several; None where no step is told.

    A time that was said is moved, else the plan's own start.
    """
    if not after_a_sum(talk) or len(heard.tokens) > LONG or (by := _step(text, heard)) is None:
        return None
    times = {name: used for name, used in talk.slots.items() if isinstance(used.value, datetime)}
    said = {name: used for name, used in times.items() if used.origin == "question"}
    moved = said or {name: used for name, used in times.items() if used.origin not in NOT_MOVED}
    if len(moved) != 1:
        return Question("unclear")
    (name, used), = moved.items()
    move = earlier if pattern("step_earlier").search(text) else later
    kept = {n: u for n, u in talk.slots.items() if u.origin not in NOT_MOVED}
    kept[name] = replace(used, value=move(used.value, by), origin="question")
    return Question(str(talk.question), carried=kept, follows=True, counts="")


def _step(text: str, heard: Heard) -> Quantity | None:
    """The length of the step, where the message tells one and nothing else."""
    told = [a.readings[0] for a in heard.amounts if a.readings[0].kind not in ("day", "date")]
    if len(told) != 1 or told[0].kind != "time" or told[0].unit not in ("h", "min"):
        return None
    own = set(own_words(heard)) - set(table("turns_en")["words"]["of_a_step"].split())
    moved = pattern("step_earlier").search(text) or pattern("step_later").search(text)
    return qty(told[0].value, told[0].unit) if moved and not own else None
