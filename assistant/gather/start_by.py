"""When to start so as to be done by a time."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from assistant.gather._shared import NOW, OVER, RATE, feed, rate, said_volume, volume_of, which_feed
from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.night import feed_time
from assistant.slots import Slots
from assistant.wants import Ask, Used, Want


def _after_the_start(slots: Slots, finish: Reading) -> datetime:
    """The finish that follows the day named for the start: "begin Saturday, off by nine" is nine on Sunday."""
    found = resolve(finish, slots.night.now, "future", None)[0]
    slots.used["finish"] = Used(found, slots.used["finish"].origin, slots.used["finish"].words)
    return found


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(
        finish=Want("clock", ("finish", "start")),
        volume=Want("volume", ("total", "left", "hung")),
        rate=RATE,
        over=OVER,
        now=NOW,
    )
    of = feed(slots)
    finish = slots.get("finish")
    if finish is None:
        raise Ask("finish")
    if isinstance(finish, Reading):
        day = slots.day("finish")
        if day in ("today", "tonight") or slots.said.has(
            r"(?:start|begin|on|hook up|hang)\w* (?:it |him |her )?(?:on )?" + (day or "-")
        ):
            day = None  # the day on which it starts, not the one on which it ends
        finish = (
            slots.instant("finish", "future", day) if day or slots.day() is None else _after_the_start(slots, finish)
        )
    over, volume = slots.get("over"), said_volume(slots, of)
    if over is None and volume is None and of is not None:
        volume = slots.fill("volume", volume_of(slots, of), "care plan")
        if of.method == "syringe":
            over = slots.fill("over", feed_time(of), "care plan")
    if over is None and volume is None:
        raise which_feed(slots)
    runs_at = None if over is not None else rate(slots)
    if over is None and runs_at is None:
        raise Ask("rate")
    return {"finish": finish, "volume": None if over is not None else volume, "rate": runs_at, "over": over}
