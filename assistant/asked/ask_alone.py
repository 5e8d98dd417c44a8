"""A question that stands in a clause of its own, where the whole of the message is not understood.

"The man upstairs hoovers at three in the morning ... so when does that bag have to come down?": the story around an ask
outweighs it. What is told beside it still counts; only which question it is, is taken from the clause.
"""

from __future__ import annotations

import re

from assistant.clauses.parts import SENTENCES
from assistant.follow.turns import pattern
from assistant.message import Heard
from assistant.understand import Candidate, rank

SURE = 0.8  # of a clause alone
LEAST = 4  # words; "the day one", "mg per kg" ask nothing by themselves
LOOKS = frozenset({"plan_lookup", "log_lookup", "contact"})
#: sums of a feed that runs; of stock, food or weight people ask of other things as well
SUMS = frozenset({"bag_duration", "finish_at", "start_by", "delivered", "remaining", "rate_needed", "catch_up", "pour",
                  "discard_at", "opened_until", "change_rate", "flush"})
CLAUSES = re.compile(rf"{SENTENCES.pattern}|,\s+|\s+-+\s+|\b(?:but|so|and|anyway)\b", re.IGNORECASE)


def asked_alone(heard: Heard) -> Candidate | None:
    """What the one clause that asks something of ours asks, and surely; None where none does, or two ask differently.

    A sum only where a number is told: "how can that be enough food?" is no sum.
    """
    text = heard.text
    whole = [c for c in SENTENCES.split(text) if c]
    clauses = {c.strip() for c in (*whole, *CLAUSES.split(text)) if len(c.split()) >= LEAST and _asks(c)} - {text}
    sums = any(a.readings[0].kind not in ("day", "date") for a in heard.amounts)
    found = [top for clause in sorted(clauses) if (top := _surely_ours(clause, sums)) is not None]
    return max(found, key=lambda top: top.p) if len({top.intent for top in found}) == 1 else None


def _asks(clause: str) -> bool:
    return "?" in clause or pattern("question").search(clause) is not None


def _surely_ours(clause: str, sums: bool) -> Candidate | None:
    ranked = rank(clause)
    ours = bool(ranked) and ranked[0].card is None
    ours = ours and (ranked[0].intent in LOOKS or (sums and ranked[0].intent in SUMS))
    return ranked[0] if ours and ranked[0].p >= SURE else None
