""" "Gave 200 at lunch", "she's had 150 for tea": so much of a feed told as given by the meal's name, and nothing asked.

It is for the log. When it was given is told, or it is the feed that was due a short while ago; else it is asked.
"""

from __future__ import annotations

import re

from assistant.clauses.own_words import named_feed
from assistant.follow.turns import Question, pattern, shown
from assistant.message import Heard
from assistant.night import Night
from assistant.numbers.number_pairs import beside
from assistant.numbers.wants import Ask
from knowledge.library import table
from rules.clock import before, earlier, later
from rules.quantity import qty

LEAST = 20  # a smaller bare number is no amount of a feed
MOST_WORDS = 24
AT_A_MEAL = re.compile(r"\bat (?=(?:the |his |her |my |our )?[a-z])", re.IGNORECASE)
EARLY, SINCE_DUE = qty("0.5", "h"), qty(3, "h")


def fed_told(text: str, heard: Heard, feeds: tuple[str, ...]) -> Question | None:
    """The entry of a feed given, where a verb of giving, one amount and a feed of the plan are told."""
    if len(heard.tokens) > MOST_WORDS or "?" in text or not named_feed(heard, feeds):
        return None
    amounts = [a for a in heard.amounts if a.readings[0].kind not in ("clock", "day", "date")]
    first = amounts[0].readings[0] if len(amounts) == 1 else None
    if first is None or first.kind not in ("volume", "number") or first.value < LEAST:
        return None
    if any(pattern(name).search(text) for name in ("asks_any", "asks_of_a_sum", "not_done", "cannot_do")):
        return None
    told = any(beside(name).search(shown(heard)) for name in ("fed_so_much", "fed_of_it"))
    return Question("log_start") if told else None


def of_a_meal(text: str) -> str:
    """The words with "at lunch" as "for lunch": the feed, not a time of day."""
    return AT_A_MEAL.sub("for ", text)


def due_a_while_ago(night: Night, name: str | None, *, timed: bool) -> None:
    """Ask when it was, where no time is told and the feed of that name was not due within the last hours."""
    feed = next((f for f in night.feeds if f.name == name), None)
    if timed or feed is None or feed.start is None:
        return
    due = night.now.replace(hour=feed.start.hour, minute=feed.start.minute, second=0, microsecond=0)
    if before(night.now, earlier(due, EARLY)) or before(later(due, SINCE_DUE), night.now):
        raise Ask("start", code="log_act_time", what=table("sentences_en")["log"]["kinds"]["feed_started"])
