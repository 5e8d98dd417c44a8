""" "The feed should have started at eight": what was meant to be done is no act, and nothing is written of it."""

from __future__ import annotations

import re
from functools import cache

from assistant.hear import hear
from assistant.numbers.said import said
from assistant.told.acts import acts_told
from knowledge.library import table


@cache
def _should_have() -> re.Pattern[str]:
    return re.compile(table("acts_en")["should_have"], re.IGNORECASE)


def only_planned(text: str) -> bool:
    """Does the message tell what should have been done, and no act beside it?"""
    rest = _should_have().sub(" ", text)
    return rest != text and not acts_told(said(hear(rest)))
