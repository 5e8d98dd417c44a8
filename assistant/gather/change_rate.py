"""What another rate would mean: figures and the plan's limits; never advice to change it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from assistant.gather import rate_needed
from assistant.gather._shared import FINISH, NOW, OVER, RATE, START, check_entry, feed, limits, ordered_rate
from assistant.gather._when import now, planned_start, start
from assistant.slots import Slots
from assistant.wants import Ask, Used, Want, measure

MORE = re.compile(r"(?:(?:mls?|mils?)\b ?)?(?:an hour |per hour )?(?:faster|quicker|more|higher|up)\b")
LESS = re.compile(r"(?:(?:mls?|mils?)\b ?)?(?:an hour |per hour )?(?:slower|less|lower|down)\b")
BY = re.compile(r"\b(up|raise\w*|increas\w*|bump\w*|drop\w*|down|lower\w*|reduc\w*|cut|slow\w*)\b.*\bby$")
UP = ("up", "raise", "increas", "bump")


def _by_so_much(slots: Slots) -> None:
    """ "If it runs 10 faster", "drop it by five": the rate that this makes of the ordered one."""
    for spoken in slots.said.spoken:
        reading, by = spoken.reading("rate", "number"), BY.search(spoken.before)
        if reading is None or not (by or MORE.match(spoken.after) or LESS.match(spoken.after)):
            continue
        base = ordered_rate(slots)
        if base is None:
            raise Ask("rate")
        more = by.group(1).startswith(UP) if by else bool(MORE.match(spoken.after))
        change = measure("rate", reading, slots.night)
        if not more and change >= base:
            raise Ask("rate")
        for name in [n for n, s in slots.spoken.items() if s is spoken]:
            slots.used.pop(name, None)
            slots.spoken.pop(name)
        slots.spoken["rate"] = spoken
        slots.used["rate"] = Used((base + change if more else base - change).to("mL/h"), "question", spoken.amount.text)
        slots.fill("ordered_rate", base, "care plan")
        return


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(
        rate=RATE, volume=Want("volume", ("left", "total", "hung")), over=OVER, start=START, finish=FINISH, now=NOW
    )
    _by_so_much(slots)
    asked = slots.get("rate")
    of = feed(slots)
    volume = rate_needed.volume(slots)
    if asked is None:
        over = rate_needed.span(slots)
        if over is None or volume is None:
            raise Ask("rate")
        asked = slots.fill("rate", (volume / over).to("mL/h"), "question")  # "over forty minutes": the rate it means
    else:
        check_entry(slots, "rate", asked, ordered_rate(slots))
    if "rate" in slots.spoken and slots.has("over"):
        return {"rate": asked, "over": slots.get("over"), "ordered": ordered_rate(slots), **limits(slots)}
    begins = start(slots) if slots.has("start") else None
    if (
        begins is None
        and slots.used.get("volume")
        and slots.used["volume"].origin == "care plan"
        and of is not None
        and not slots.said.has("from now", "now", "right now")
    ):
        begins = planned_start(slots, of)
    plan = slots.night.plan
    return {
        "rate": asked,
        "volume": volume,
        "now": begins or now(slots),
        "ordered": ordered_rate(slots),
        "kit_highest": plan.equipment.pump_highest_rate if plan else None,
        **limits(slots),
    }
