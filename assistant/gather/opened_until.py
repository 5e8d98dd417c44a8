"""Until when an opened container may be used."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.gather._when import now
from assistant.gather.discard_at import hanging_limit
from assistant.numbers.wants import Ask, Want
from assistant.slots import Slots
from rules.clock import earlier

ROOM = (
    r"counter",
    r"worktop",
    r"bench",
    r"side",
    r"room temp\w*",
    r"left out",
    r"sat out",
    r"been out",
    r"table",
    r"out of the fridge",
    r"not in the fridge",
    r"no fridge",
)


OPEN = (r"open\w*", r"ago", r"been", r"since", r"crack\w*", r"spik\w*", r"broke\w*", r"had (?:it|this|that)", r"sat",
        r"in the fridge (?:for|about|now)", r"old", r"left", r"out for", r"earlier")
KEPT = (r"fridge", r"refrigerat\w*", r"cold", r"covered", r"lid", r"poured (?:off|from)")  # a closed bag hangs, else


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(
        opened=Want("clock", ("opened", "start", "last_done")),
        limit=Want("time", ("limit", "over"), bare=False),
        ago=Want("time", ("ago",), bare=False, shy=0.2),
        now=Want("clock", ("clock_now",)),
    )
    at, ago = slots.instant("opened", "past"), slots.get("ago")
    if at is None and ago is not None and slots.said.has(*OPEN):  # "for four days" alone tells no opening
        at = slots.fill("opened", earlier(now(slots), ago), "question")
    if at is None and slots.said.has(r"just opened", r"opened (?:it |one )?(?:just )?now", r"just now", r"opening"):
        at = slots.fill("opened", now(slots), "clock")
    if at is None:
        raise Ask("opened")
    plan = slots.night.plan
    hangs = plan is not None and plan.formula.form == "closed_bag" and not slots.said.has(*KEPT)
    in_room = hangs or (slots.said.has(*ROOM) and not slots.said.has("in the fridge"))
    made: dict[str, Any] = {"opened_at": at, "now": now(slots), "in_fridge": not in_room}
    if in_room:
        limit, sources = hanging_limit(slots)
        made.update(room_limit=limit, sources=sources)
    return made
