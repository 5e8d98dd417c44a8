"""How long the pump's battery lasts, by the plan's figure."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from assistant.gather._when import now
from assistant.numbers.wants import Ask, Want
from assistant.slots import Slots
from rules.clock import between

OVER_BY_NOW = (r"(?:came|come|is|it's) back", r"back on", r"yesterday", r"last (?:night|week|month|time|year)")
FULL = (r"(?:charged|full|filled|topped)(?: up)? (?:to the (?:top|brim)|right up|fully)", r"fully charged",
        r"full charge")
#: "will it last an hour"
IS_IT_ENOUGH = re.compile(r"\b(?:will|would|can|could|does|do|going to|gonna|enough)\b[^.?!]*$")
ITS_LIFE = re.compile(
    r"\b(?:batter\w*|lasts?|says?|label|sticker|booklet|rated|good|charge\w*)(?: (?:life|is|are|for|about|only|it"
    r"|lasts?|says?|good|supposed|meant|to|last|at|of|the|a))*$"
)


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(
        rate=Want("rate", ("rate",)),
        lasts=Want("time", ("over", "limit"), bare=False),
        since=Want("clock", ("start", "last_done", "opened"), shy=0.2),
        by=Want("clock", ("finish",)),
        now=Want("clock", ("clock_now",), shy=0.1),
        ago=Want("time", ("ago",), bare=False, shy=0.3),
    )
    equipment = slots.night.plan.equipment if slots.night.plan else None
    told = slots.spoken.get("lasts")
    if told is not None and (not ITS_LIFE.search(told.before) or IS_IT_ENOUGH.search(told.before)):
        del slots.spoken["lasts"], slots.used["lasts"]  # "a 6 hour drive": not how long the battery lasts
    lasts = slots.get("lasts") if slots.has("lasts") else None
    if lasts is None:
        lasts = slots.fill("battery_lasts", equipment.battery_lasts, "care plan") if equipment else None
    if lasts is None:
        raise Ask("battery")
    part = next((s for s in slots.said.spoken if s.amount.readings[0].kind in ("share", "percent")), None)
    if part is not None:
        slots.spoken["charge"] = part
    in_part = part is not None or slots.said.has(
        r"half (?:full|charged|gone|empty|a charge)", r"(?:one|two|three|last) bars?", r"quarter"
    )
    if in_part and not slots.said.has("fully charged"):
        slots.remarks.append("part_charged")
    since = slots.instant("since", "past")
    ago = slots.get("ago") if not slots.said.has(*OVER_BY_NOW) else None  # "it was off for an hour, it came back"
    full = slots.said.has(*FULL) and not slots.said.has(r"unplug\w*", r"off the mains", r"since", r"ran", r"running")
    used = between(since, now(slots)) if since is not None and not full else None if full else ago
    return {"lasts": lasts, "at": equipment.battery_at if equipment else None, "rate": slots.get("rate"), "used": used}
