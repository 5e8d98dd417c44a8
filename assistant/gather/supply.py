"""How long the supplies last, when they run out, by when to order."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any

from assistant.gather._amounts import day_volume
from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.said import Spoken
from assistant.slots import Slots
from assistant.wants import Ask, Used, Want
from rules.quantity import Quantity, qty

FEEDING_BAGS = (r"feeding bags?", r"bag sets?", r"giving sets?", r"empty bags", r"sets")


def gather(slots: Slots) -> Mapping[str, Any]:
    stock, pieces = _counts(slots)
    slots.assign(container=Want("volume", ("container",), shy=0.1, told=True))
    night, plan = slots.night, slots.night.plan
    if stock is None and not slots.night.plan:
        raise Ask("containers")
    shared: dict[str, Any] = {
        "today": night.today,
        "counted": night.today,
        "reorder_lead": slots.fill("reorder_lead", plan.supplies.reorder_lead, "care plan") if plan else None,
    }
    closed = bool(plan and plan.formula.form == "closed_bag")
    feeding_bags = slots.said.has(*FEEDING_BAGS) and not closed
    if feeding_bags and pieces is None and (stock is not None or (plan is not None and plan.supplies.bags is not None)):
        pieces = qty(1, "1")  # an empty bag holds no formula: a new one each day
    if stock is None and plan is not None:
        supplies = plan.supplies
        counted_by_plan = supplies.bags if feeding_bags and supplies.bags is not None else supplies.containers
        if counted_by_plan is None:
            raise Ask("containers")
        stock = slots.fill("stock", Decimal(counted_by_plan), "care plan")
        shared["counted"] = slots.fill("counted", supplies.counted or night.today, "care plan")
    assert stock is not None
    if stock < 0:
        raise Ask("containers", code="slip_impossible", said=stock, slot="stock")
    if slots.has("stock") and slots.used["stock"].origin == "question":
        shared["counted"] = _counted_on(slots)
    shared["stock"] = qty(stock, "1")
    if pieces is not None:
        return {**shared, "pieces_a_day": pieces}
    size = slots.get("container")
    if size is None:
        size = slots.fill("container", plan.formula.container, "care plan") if plan else None
    size = slots.need("container") if size is None else size
    return {**shared, "container": size, "daily": _daily(slots), "keeps": not closed}


def _daily(slots: Slots) -> Quantity:
    """A day's formula by the plan, and what fills the line of each feed by pump."""
    daily, plan = day_volume(slots), slots.night.plan
    if daily is None:
        raise Ask("count")
    if plan is not None and plan.equipment.priming_volume is not None:
        pumps = sum(f.method == "pump" for f in plan.feeds)
        daily = (daily + plan.equipment.priming_volume * pumps).to("mL")
    found: Quantity = slots.fill("daily", daily, "care plan")
    return found


COUNTED = (r"count\w*", "there were", "there was", "had", "stock ?take", "as of", "delivered", "came")
TO_COME = (r"arriv(?:e|es|ing)", "due", "coming", "will", "next", "get here", "turn(?:s|ing)? up", "lands?", "expected")
NOW_DAYS = (None, "today", "tonight", "tomorrow")


def _counted_on(slots: Slots) -> Any:
    """ "54 cartons, counted on the 20th": the day of the count; today where none is told."""
    day, night = slots.day(), slots.night
    if day in NOW_DAYS or not slots.said.has(*COUNTED) or slots.said.has(*TO_COME):
        return night.today
    at = Reading("clock", night.now.hour * 60 + night.now.minute, "24h")
    found = resolve(at, night.now, "past", day)[0].date()
    return slots.fill("counted", found, "question")


MOST_IN_A_BOX = 48  # a bare number above is what one holds, in mL


def _in_each(slots: Slots, boxes: Spoken) -> Decimal:
    """ "5 boxes of 12": how many are in each box; 1 where nothing is said, or what is said is their size."""
    for spoken in slots.said.spoken:
        bare = spoken.reading("number")
        beside = spoken.amount.start == boxes.amount.end + 1 and spoken.before.endswith("of")
        if bare is not None and beside and spoken.reading("volume") is None and 1 < bare.value <= MOST_IN_A_BOX:
            slots.spoken["in_each"] = spoken
            return Decimal(bare.value)
    return Decimal(1)


IN_STORE = re.compile(
    r"(?:more |other |of (?:them|these|those) )?(?:left|here|in stock|on the shelf|to (?:go|last)|remaining"
    r"|in (?:the|my|our) (?:cupboard|house|fridge|garage|store|stock|press|pantry|shed|larder|wardrobe|box|boxes))\b"
)


GOT = re.compile(r"\b(?:got|have|has|we've|weve|i've|ive|there's|theres|there are|down to|only)$")


def _in_store(spoken: Spoken, number: Decimal) -> bool:
    """ "We've 14 left in the cupboard": a whole number of what stands in store."""
    whole = number == int(number) and spoken.reading("volume") is None
    owned = bool(GOT.search(spoken.before)) and spoken.after in ("", "enough")
    return whole and (owned or bool(IN_STORE.match(spoken.after)))


def _counts(slots: Slots) -> tuple[Decimal | None, Any]:
    """The stock said, and the pieces a day said ("two a night", "@ 2/night")."""
    stock, pieces = None, None
    for spoken in slots.said.spoken:
        reading = spoken.reading("count", "number", "rate")
        if reading is not None and reading.kind == "number" and _in_store(spoken, Decimal(reading.value)):
            reading = replace(reading, kind="count", unit="container")
        if reading is None or (spoken.reading("volume") is not None and spoken.roles.get("container", 0) > 0.3):
            continue
        daily = spoken.after.startswith(
            (
                "a day",
                "a night",
                "per day",
                "per night",
                "/night",
                "/day",
                "each day",
                "each night",
                "every day",
                "every night",
                "daily",
                "nightly",
                "/ night",
                "/ day",
            )
        ) or reading.unit in ("mL/d", "mL/day")
        if daily and pieces is None and Decimal(reading.value) > 0:
            pieces = qty(Decimal(reading.value), "1")
            slots.used["pieces_a_day"] = Used(Decimal(reading.value), "question", spoken.amount.text)
            slots.spoken["pieces_a_day"] = spoken
        elif (
            stock is None
            and reading.kind == "count"
            and (
                reading.unit in ("container", "bag", "bottle", "syringe")
                or (reading.unit == "feed" and spoken.after.startswith(("bag", "set")))  # "20 feeding bags"
            )
            and not daily
        ):
            stock = Decimal(reading.value) * _in_each(slots, spoken)
            slots.used["stock"] = Used(stock, "question", spoken.amount.text)
            slots.spoken["stock"] = spoken
    return stock, pieces
