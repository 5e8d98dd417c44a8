"""What of the conversation goes into the sum that is asked now, beside what its question carries."""

from __future__ import annotations

import re
from decimal import Decimal

from assistant.actions import Turn
from assistant.follow.turns import pattern
from assistant.numbers.wants import Used
from rules.quantity import qty

BARE = 2  # words
OF_A_FEED = ("energy", "protein")


def carried_over(turn: Turn) -> dict[str, Used]:
    """What was told before and still counts: no amount of before for a feed that is named only now."""
    named = turn.night.feeds_named(turn.said.heard.text)
    anew = len(named) == 1 and named[0].name != turn.talk.feed and turn.talk.asks is None
    carried = dict(turn.question.carried)
    if named and turn.question.name in OF_A_FEED and _on_top(turn):
        carried["on_top_of"] = turn.talk.slots["volume"]  # "and with the overnight on top"
    if anew and turn.question.name in OF_A_FEED:
        carried.pop("volume", None)
    if (next_rate := _of_the_next_step(turn)) is not None:
        carried["rate"] = next_rate
    if turn.question.name in OF_A_FEED and "given" in carried and points_back(turn.said.lower):
        carried["volume"] = carried.pop("given")  # "and that's how many calories?": what went in
    return carried


def begun_before(turn: Turn) -> dict[str, Used] | None:
    """What is carried, with the start that was told beside an earlier question; None where the log knows of a feed."""
    talk, carried = turn.talk, turn.question.carried
    if talk.begun is None or "start" in carried or turn.night.events or turn.night.now < talk.begun:
        return None
    if BY_THEN.search(turn.said.lower):
        return None  # up to an hour of the answer before
    named = turn.night.feeds_named(turn.said.heard.text)
    if named and [f.name for f in named] != [talk.feed]:
        return None
    return {**carried, "start": Used(talk.begun.astimezone(turn.night.now.tzinfo), "question", "told before")}


def _of_the_next_step(turn: Turn) -> Used | None:
    """ "How long will the 432 take then?", right after the next step was told: at that rate."""
    last = turn.talk.last or {}
    told = last.get("figures", {}).get("next_rate") if last.get("intent") == "advance" else None
    if told is None or turn.question.name not in AT_A_RATE or not THEN.search(turn.said.lower):
        return None
    return Used(qty(Decimal(str(told["value"])), "mL/h"), "question")


BY_THEN = re.compile(r"\b(?:by|at|till|until) (?:then|that)\b|\bthen\W*$")
AT_A_RATE, THEN = ("bag_duration", "finish_at"), re.compile(r"\b(?:then|at that|on that|by then|after that)\b")


def _on_top(turn: Turn) -> bool:
    same = turn.talk.question == turn.question.name and turn.talk.asks is None and "volume" in turn.talk.slots
    return same and not turn.said.heard.amounts and pattern("adds_a_feed").search(turn.said.lower) is not None


def points_back(text: str) -> bool:
    """ "How many calories is that?", "calories-wise", and not another word."""
    ways = ("of_that", "adds_to_it", "that_is_what")
    return len(text.split()) <= BARE or any(pattern(name).search(text) for name in ways)
