"""How many containers a feed, a day or a trip takes."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.gather._amounts import amount, day_volume, named
from assistant.gather._shared import check_entry
from assistant.night import feed_volume
from assistant.slots import Ask, Slots, Used, Want, measure
from rules.quantity import qty

NOT_KEPT = (r"opened (?:ones?|\w+) (?:thrown|binned|chucked|out)", r"chuck\w* (?:the )?open\w*", r"bin (?:anything|what|the)", r"toss\w*", r"thrown? (?:out|away)", r"goes in the trash", r"nothing saved",
            r"trash\w*", r"discard\w*", r"don'?t keep", r"nothing kept", r"no fridge", r"bin(?:ned)? (?:it|them|nightly|every)", r"chuck \w+ every night", r"can'?t keep", r"bin anything")
KEPT = (r"fridge", r"keep\w* (?:the|what|it|them)", r"same batch", r"saved")


def gather(slots: Slots) -> Mapping[str, Any]:
    rate_time = _rate_times_time(slots)
    slots.assign(volume=Want("volume", ("total", "given", "left")), container=Want("volume", ("container",)), span=Want("time", ("over",), bare=False))
    plan = slots.night.plan
    size = slots.get("container")
    if size is None and plan is not None:
        size = slots.fill("container", plan.formula.container, "care plan")
    size = slots.need("container") if size is None else size
    days = _days(slots)
    feeds = named(slots)
    said = rate_time if rate_time is not None else slots.get("volume")
    if said is not None:
        if len(feeds) == 1:
            check_entry(slots, "volume", said, feed_volume(feeds[0]))
        return {"volume": said, "container": size, "days": days, "stated": True, "keeps": not slots.said.has(*NOT_KEPT)}
    of = feeds if feeds and days is None else slots.night.feeds
    volume = amount(slots) if days is None else slots.fill("volume", day_volume(slots), "care plan")
    if volume is None:
        raise Ask("volume")
    closed = bool(plan and plan.formula.form == "closed_bag")
    keeps = not closed and not slots.said.has(*NOT_KEPT)
    return {"volume": volume, "container": size, "days": days, "pump_feeds": sum(f.method == "pump" for f in of),
            "priming": slots.fill("priming", plan.equipment.priming_volume, "care plan") if plan and any(f.method == "pump" for f in of) else None, "keeps": keeps}


def _rate_times_time(slots: Slots) -> Any:
    """"Eighty five for fourteen hours": the amount that runs in that time."""
    slots.assign(rate=Want("rate", ("rate",), shy=0.1), over=Want("time", ("over",), bare=False))
    rate, over = slots.used.get("rate"), slots.used.get("over")
    if rate and over and over.value.m_as("h") <= 24:
        volume = (rate.value * over.value).to("mL")
        slots.used["volume"] = Used(volume, "question")
        return volume
    if rate and slots.spoken["rate"].reading("rate") is None or rate and slots.said.spoken:
        slots.used.pop("rate", None)
        slots.spoken.pop("rate", None)
    slots.used.pop("over", None)
    slots.spoken.pop("over", None)
    return None


def _days(slots: Slots) -> Any:
    """The span in days: said as days, nights or weeks, or "a week", "the weekend"."""
    for spoken in slots.said.spoken:
        reading = spoken.reading("time")
        if reading is not None and reading.unit in ("day", "week"):
            slots.spoken["days"] = spoken
            slots.used["days"] = Used(measure("time", reading, slots.night).to("day"), "question", spoken.amount.text)
            return slots.used["days"].value
        count = spoken.reading("count")
        if count is not None and count.unit in ("night", "day") and Decimal(count.value) > 0:
            slots.spoken["days"] = spoken
            slots.used["days"] = Used(qty(Decimal(count.value), "day"), "question", spoken.amount.text)
            return slots.used["days"].value
    for words, days in (((r"(?:a|the|one|next|whole) week", r"for (?:a|one) week"), 7), ((r"fortnight",), 14), ((r"(?:a|the|this|long )?weekend",), 2), ((r"(?:a|the|one) month",), 30)):
        if slots.said.has(*words):
            return slots.fill("days", qty(days, "day"), "question")
    return None
