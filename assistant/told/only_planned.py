""" "The feed should have started at eight", "shall I stop it?", "no, not been sick": no act, nothing to write down."""

from __future__ import annotations

import re
from functools import cache

from assistant.hear import hear
from assistant.numbers.said import said
from assistant.told.acts import acts_told
from knowledge.library import table


@cache
def _pattern(name: str) -> re.Pattern[str]:
    return re.compile(table("acts_en")[name], re.IGNORECASE)


def only_planned(text: str) -> bool:
    """Does the message tell what should have been done, and no act beside it?"""
    return _nothing_beside("should_have", text)


def not_done(text: str, intent: str) -> bool:
    """Does it only ask about an act, put it as a case, tell it as still to come, or deny it?"""
    if intent == "log_symptom":
        return _nothing_beside("not_sick", text)
    return _nothing_beside("not_done", text)


def _nothing_beside(name: str, text: str) -> bool:
    rest = _pattern(name).sub(" ", text)
    return rest != text and not acts_told(said(hear(rest)))
