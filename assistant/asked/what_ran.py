"""An amount asked for while the log holds a feed: what went in, or what the plan orders ("how much is down")?

Where nothing in the words speaks of the plan, and something of what has happened, it is what went in.
"""

from __future__ import annotations

from assistant import gather
from assistant.asked.plan_asked import LOOKED_UP
from assistant.asked.plausible import without
from assistant.clauses.told_beside import OF_THE_RUN
from assistant.dialogue import Talk
from assistant.follow.turns import Question, pattern
from assistant.understand import Candidate

AMOUNT = f"{LOOKED_UP}volume"
SURELY_A_SUM = 0.8  # from this share on a sum is not taken for a look-up that its words could be as well
FEW = 5  # words


def of_what_ran(text: str, ranked: tuple[Candidate, ...], logged: tuple[str, ...]) -> tuple[Candidate, ...]:
    """The ranking with what the feed has given in the place of a look-up of the plan, where that is meant."""
    if ranked[0].intent != "plan_lookup" or not _of_the_log(text, logged):
        return ranked
    rest = without(ranked, "plan_lookup")
    run = next((c.intent for c in rest if c.intent in OF_THE_RUN), "delivered")
    return (Candidate(run, None, ranked[0].p), *(c for c in rest if c.intent != run))


def is_of_the_plan(
    look_up: Question | None, text: str, ranked: tuple[Candidate, ...], logged: tuple[str, ...], talk: Talk
) -> Question | None:
    """The look-up, but where it is the amount that went in, or plainly a sum; in few words after a look-up, of it."""
    if look_up is not None and ranked[0].intent == "pour" and pattern("first_fill").search(text):
        return None  # the first of several fills, and not the whole that is ordered
    if look_up is None or pattern("of_the_order").search(text):
        return look_up
    of_it = bool(talk.just_looked_up()) and len(text.split()) <= FEW
    a_sum = ranked[0].intent in gather.names() and ranked[0].p >= SURELY_A_SUM and not of_it
    return None if a_sum or (look_up.favours == AMOUNT and _of_the_log(text, logged)) else look_up


def _of_the_log(text: str, logged: tuple[str, ...]) -> bool:
    so_far = "feed_started" in logged and pattern("so_far").search(text)
    return bool(so_far) and not pattern("of_the_order").search(text)
