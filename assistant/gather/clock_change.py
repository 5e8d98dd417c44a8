"""What a change of the clocks does to a feed."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from assistant.gather._shared import FINISH, OVER, RATE, START, feed
from assistant.gather._when import planned_start, start
from assistant.hear.clock import resolve
from assistant.household.care_plan import Feed
from assistant.message import Reading
from assistant.night import feed_rate, feed_time, feed_volume
from assistant.numbers.wants import Want
from assistant.slots import Slots
from rules.clock import later, wall_shift
from rules.quantity import Quantity

EARLIER = re.compile(
    r"(?:early|earlier|soon|sooner|quicker|later?|less|more|extra|longer|shorter|back|forwards?|behind|ahead)\b"
)
LOSES = re.compile(r"\b(?:los(?:e|es|t|ing)|gain(?:s|ed|ing)?|get(?:s|ting)? back)$")

SAID = frozenset({"start", "over", "finish", "rate", "volume"})  # of a run that was told the end is given, of no other


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(start=START, over=OVER, finish=FINISH, rate=RATE, volume=Want("volume", ("total",)))
    shift = slots.spoken.get("over")
    if shift is not None and (EARLIER.match(shift.after) or LOSES.search(shift.before)):
        slots.used.pop("over")  # "an hour early", "we lose an hour": how the clocks move, no running time
    hangs = slots.spoken.get("volume")
    if hangs is not None and hangs.roles.get("flush", 0.0) > hangs.roles.get("total", 0.0):
        slots.used.pop("volume")  # "a flush of 20 is done"
        slots.spoken["flush"] = slots.spoken.pop("volume")
    of = feed(slots, by_pump=True) or (slots.night.feeds[0] if slots.night.feeds else None)
    told = slots.get("start")
    halves = resolve(told, slots.night.now, "nearest", slots.day("start")) if isinstance(told, Reading) else ()
    begins = start(slots, when="nearest")
    if begins is None and of is not None:
        begins = slots.fill("start", planned_start(slots, of, when="future"), "care plan")
    begins = slots.need("start") if begins is None else begins
    over = slots.get("over") or _by_amount(slots, of)
    if over is None and of is not None:
        over = slots.fill("over", feed_time(of), "care plan")
    if over is None:
        over = slots.need("over")
    over_it = next((at for at in halves if wall_shift(at, later(at, over)).magnitude), None)
    if over_it is not None and not wall_shift(begins, later(begins, over)).magnitude:
        begins = _at(slots, over_it)
    if not (SAID & slots.spoken.keys()) and not wall_shift(begins, later(begins, over)).magnitude:
        found = _change_near(slots)  # the run misses the change: what it does from the day before to the day after
        if found is not None:
            return {"start": found[0], "finish": found[1]}
    return {"start": begins, "over": over, "rate": slots.get("rate") or (feed_rate(of) if of else None)}


def _at(slots: Slots, begins: datetime) -> datetime:
    """ "Put him on at half eight, the clocks go back tonight": of the two, the one whose feed runs over the change."""
    slots.used["start"] = replace(slots.used["start"], value=begins)
    return begins


def _by_amount(slots: Slots, of: Feed | None) -> Quantity | None:
    """The time that an amount or a rate that was said makes; None where neither is."""
    if not {"volume", "rate"} & slots.used.keys():
        return None
    volume = slots.get("volume") or (feed_volume(of) if of is not None else None)
    runs_at = slots.get("rate") or (feed_rate(of) if of is not None else None)
    if volume is None or runs_at is None:
        return None
    over: Quantity = slots.fill("over", (volume / runs_at).to("h"), "question")
    return over


def _change_near(slots: Slots) -> tuple[Any, Any] | None:
    """The instants around a change of the clocks within two days, where the feed itself does not span it."""
    now = slots.night.now
    noon = now.replace(hour=12, minute=0, second=0, microsecond=0)
    for days in (0, -1, 1, -2):
        one, other = noon + timedelta(days=days), noon + timedelta(days=days + 1)
        if one.utcoffset() != other.utcoffset():
            return one, other
    return None
