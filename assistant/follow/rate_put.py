"""A case put of the sum just answered: another rate told as what runs or ran ("suppose the pump was only at 58")."""

from __future__ import annotations

from assistant.dialogue import Talk
from assistant.follow.turns import pattern
from assistant.message import Heard
from assistant.numbers.said import said

AT_A_RATE = ("bag_duration", "finish_at", "remaining", "delivered")
PLAINLY = 0.9
DAYS = ("day", "date")


def puts_another_rate(text: str, heard: Heard, talk: Talk) -> bool:
    """Is the one number plainly a rate, in a case that is put and asks nothing of its own?"""
    same = talk.question in AT_A_RATE and talk.asks is None and (talk.last or {}).get("intent") == talk.question
    if not same or "rate" not in talk.slots or not pattern("case_put").match(text):
        return False
    if pattern("asks_anew").search(pattern("case_put").sub("", text)):
        return False
    told = [s for s in said(heard).spoken if s.amount.readings[0].kind not in DAYS]
    roles = told[0].roles if len(told) == 1 else {}
    rate = roles.get("rate", 0.0)
    return rate >= PLAINLY and rate >= max(roles.values(), default=0.0)
