"""An hour with only "at" or "since" before it, that is of something else: "vitamin at 8", "whats in him at 7"."""

from __future__ import annotations

import re

from assistant.language.number_roles import likely_roles
from assistant.message import Heard
from assistant.numbers.spoken import Spoken

ELSEWHERE, SURELY = 0.4, 0.75  # how sure the weights are of another role; ... in the answer to "when did it start?"
FEW = 4  # words
A_SMALL_WORD = 1.0  # how strongly "at", "from" or "since" alone speaks for a start
_RUN = re.compile(
    r"\b(?:start\w*|beg[aiu]n\w*|hung|hang\w*|put(?:ting)?|connect\w*|hook\w*|attach\w*|plugged in|switch\w*|turn\w*"
    r"|went (?:on|up|in)|go(?:es|ing|ne)? (?:on|up|again)|been (?:on|going|running|up)|back on|run\w*|ran|kick\w*"
    r"|on (?:at|since|from|about|around|it|him|her)|set (?:it |him |her )?(?:off|going|up)|feed\w*|fed|from|up at"
    r"|open\w*|spik\w*|pour\w*|bags?|pump|continuous|bolus|milk|formula|drip|going|did (?:it|that|them|him|her)"
    r"|it(?:'s|s)? (?:on|since|from)|doing|giving|gave|having)\b",
    re.IGNORECASE,
)
_OF_A_NOISE = re.compile(
    r"\b(?:start\w*|began|begun) (?:to |with )?(?:be |being )?(?:beep|alarm|leak|cough|cry|vomit|bleed|puk|retch"
    r"|sick|feel|itch|scream|ring|flash|shak|sweat|wheez|moan|fuss)\w*(?: \w+){0,3}$",
    re.IGNORECASE,
)
_CLAUSE = re.compile(r"[.;!?\n,]|\b(?:but|so)\b")


def of_no_start(spoken: Spoken, heard: Heard, *, asked: bool) -> bool:
    """Is the hour, taken for a start, one of something else? `asked`: "when did the feed start?" was asked.

    Only where no word of its own clause is of a run, and the weights hold it for something else as well.
    """
    if _OF_A_NOISE.search(spoken.before):
        return True  # "started beeping at six"
    if spoken.roles.get("start", 0.0) > A_SMALL_WORD and not asked:
        return False
    tokens = heard.tokens
    if len(tokens) <= FEW:
        return False  # "what if it's nine": of what was asked before
    clause = _CLAUSE.split(" ".join(tokens[: spoken.amount.start]))[-1]
    if _RUN.search(f"{clause} {_CLAUSE.split(spoken.after)[0]}"):
        return False
    at = next((n for n, a in enumerate(heard.amounts) if a is spoken.amount), None)
    if at is None:
        return False
    role, share = likely_roles(heard)[at]
    return role in ("noise", "other", "finish", "ended") and share >= (SURELY if asked else ELSEWHERE)
