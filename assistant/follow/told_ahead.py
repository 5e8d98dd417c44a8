"""What a message told of a run and asked nothing about ("on since 6:10 at 100, 450 in all"), for the question after it.

It was answered with a question back, since nothing was asked; the sum asked next counts with both messages.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from assistant import gather
from assistant.dialogue import Talk
from assistant.follow.turns import Question, pattern
from assistant.hear import hear
from assistant.language.number_roles import likely_roles
from assistant.numbers.weighed_roles import RIVALS

LIKELY = 0.6  # how sure the weights must be that one of its numbers is of the feed
MOST_WORDS = 60
SOON = timedelta(minutes=15)  # what is left or has gone in is no longer so after that


def tells_of_a_run(text: str) -> bool:
    """Is a number of the feed told, and nothing asked?"""
    if not text or "?" in text or pattern("asks_first").search(text) or len(text.split()) > MOST_WORDS:
        return False
    return any(share >= LIKELY and role in RIVALS and role != "noise" for role, share in likely_roles(hear(text)))


def with_what_was_told(question: Question, text: str, talk: Talk, now: datetime) -> Question:
    """The sum with the numbers of the message before, where that told them and was not understood as a question."""
    last = talk.last or {}
    nothing_asked = last.get("intent") == "unclear" and last.get("outcome") == "asked_back"
    if talk.at is None or now - talk.at > SOON:
        return question
    own = question.follows or question.counts is not None
    if not nothing_asked or own or question.name not in gather.names() or not tells_of_a_run(talk.text):
        return question
    return replace(question, counts=f"{talk.text.rstrip(' .,!')}. {text}")


def told_so_far(talk: Talk, text: str, record: Mapping[str, Any]) -> str:
    """What is kept of the words: those of the message before too, where both only told."""
    both = record["intent"] == "unclear" and (talk.last or {}).get("intent") == "unclear"
    if both and tells_of_a_run(talk.text) and tells_of_a_run(text):
        return f"{talk.text.rstrip(' .,!')}. {text}"
    return text


def counted_with(record: Mapping[str, Any], talk: Talk) -> frozenset[str]:
    """The numbers, as they were said, with which an answer counted: a later ask of the same message may leave them."""
    if record["outcome"] != "answered":
        return frozenset()
    told = (used.words.split(", ") for used in talk.slots.values() if used.origin == "question")
    return frozenset(word for words in told for word in words if word)
