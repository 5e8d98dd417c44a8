"""How many containers a feed, a day or a trip takes."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.gather._amounts import amount, day_volume, named
from assistant.gather._shared import check_entry
from assistant.night import feed_volume
from assistant.slots import Slots
from assistant.wants import Ask, Used, Want, measure
from rules.quantity import qty

NOT_KEPT = (
    r"opened (?:ones?|\w+) (?:thrown|binned|chucked|out)",
    r"chuck\w* (?:the )?open\w*",
    r"bin (?:anything|what|the)",
    r"toss\w*",
    r"thrown? (?:out|away)",
    r"goes in the trash",
    r"nothing saved",
    r"trash\w*",
    r"discard\w*",
    r"don'?t keep",
    r"nothing kept",
    r"no fridge",
    r"bin(?:ned)? (?:it|them|nightly|every)",
    r"chuck \w+ every night",
    r"can'?t keep",
    r"bin anything",
)
KEPT = (r"fridge", r"keep\w* (?:the|what|it|them)", r"same batch", r"saved")


def gather(slots: Slots) -> Mapping[str, Any]:
    rate_time = _rate_times_time(slots)
    slots.assign(
        volume=Want("volume", ("total", "given", "left")),
        container=Want("volume", ("container",), told=True),
        span=Want("time", ("over",), bare=False),
    )
    plan = slots.night.plan
    size = slots.get("container")
    if size is None and plan is not None:
        size = slots.fill("container", plan.formula.container, "care plan")
    size = slots.need("container") if size is None else size
    days = _days(slots)
    if (
        slots.said.has(r"(?:how )?many more", r"still (?:need|to open)")
        and slots.get("volume") is None
        and rate_time is None
    ):
        raise Ask("volume")  # "how many more tonight": what is still to give is not said
    feeds = named(slots)
    said = rate_time if rate_time is not None else slots.get("volume")
    if said is not None:
        if len(feeds) == 1:
            check_entry(slots, "volume", said, feed_volume(feeds[0]))
        return {"volume": said, "container": size, "days": days, "stated": True, "keeps": not slots.said.has(*NOT_KEPT)}
    of = feeds if feeds and days is None else slots.night.feeds
    volume = amount(slots, by_count=False) if days is None else slots.fill("volume", day_volume(slots), "care plan")
    if volume is None:
        raise Ask("volume")
    closed = bool(plan and plan.formula.form == "closed_bag")
    keeps = not closed and not slots.said.has(*NOT_KEPT)
    return {
        "volume": volume,
        "container": size,
        "days": days,
        "pump_feeds": sum(f.method == "pump" for f in of),
        "priming": slots.fill("priming", plan.equipment.priming_volume, "care plan")
        if plan and any(f.method == "pump" for f in of)
        else None,
        "keeps": keeps,
    }


def _rate_times_time(slots: Slots) -> Any:
    """ "Eighty five for fourteen hours": the amount that runs in that time."""
    for one, other in zip(slots.said.spoken, slots.said.spoken[1:], strict=False):
        fast, time = one.reading("rate", "number"), other.reading("time")
        if (
            fast is None
            or time is None
            or time.unit not in ("h", "min")
            or not (fast.kind == "rate" or one.after in ("for", "x", "over", "times") or one.roles.get("rate", 0) > 0.6)
        ):
            continue
        rate, over = measure("rate", fast, slots.night), measure("time", time, slots.night)
        slots.spoken.update(rate=one, over=other)
        slots.used.update(rate=Used(rate, "question", one.amount.text), over=Used(over, "question", other.amount.text))
        slots.used["volume"] = Used((rate * over).to("mL"), "question")
        return slots.used["volume"].value
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
    for words, days in (
        ((r"(?:a|the|one|next|whole) week", r"for (?:a|one) week"), 7),
        ((r"fortnight",), 14),
        ((r"(?:a|the|this|long )?weekend",), 2),
        ((r"(?:a|the|one) month",), 30),
    ):
        if slots.said.has(*words):
            return slots.fill("days", qty(days, "day"), "question")
    return None
