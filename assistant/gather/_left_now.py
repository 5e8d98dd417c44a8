"""What is left is left now, whenever the feed began."""

from __future__ import annotations

from datetime import datetime

from assistant.gather._when import now
from assistant.slots import Slots
from rules.clock import before

LEFT_NOW = 0.9  # how plainly an amount is said to be left


def counts_from_now(slots: Slots, begins: datetime | None) -> datetime | None:
    """ "It started at nine, 260 left, done when?": what is left is left now, whenever the feed began.

    Only what is told in one breath with the hour ("back on at two with 300 left") was left then.
    """
    began, left = slots.spoken.get("start"), slots.spoken.get("volume")
    if begins is None or began is None or left is None or not before(begins, now(slots)):
        return begins
    roles = left.roles
    others = max(roles.get("hung", 0.0), roles.get("total", 0.0))
    plainly = roles.get("left", 0.0) >= LEFT_NOW and roles["left"] > others
    first, last = sorted((began.amount, left.amount), key=lambda amount: amount.start)
    another = any(first.end <= other.start < last.start for other in slots.said.heard.amounts)
    if not plainly or not (another or PARTED & set(slots.said.heard.tokens[first.end : last.start])):
        return begins
    slots.spoken["began"] = slots.spoken.pop("start")
    del slots.used["start"]
    return slots.fill("start", now(slots), "clock")


PARTED = frozenset({".", ",", ";", "-", "–", "and", "but", "?", "!", ":", "\n"})
