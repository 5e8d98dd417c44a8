"""How long the supplies last, when they run out, by when to order."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.gather._amounts import day_volume
from assistant.slots import Slots
from assistant.wants import Ask, Used, Want
from rules.quantity import qty

FEEDING_BAGS = (r"feeding bags?", r"bag sets?", r"giving sets?", r"empty bags", r"sets")


def gather(slots: Slots) -> Mapping[str, Any]:
    stock, pieces = _counts(slots)
    slots.assign(container=Want("volume", ("container",), shy=0.1, told=True))
    night, plan = slots.night, slots.night.plan
    if stock is None and not slots.night.plan:
        raise Ask("containers")
    shared = {
        "today": night.today,
        "reorder_lead": slots.fill("reorder_lead", plan.supplies.reorder_lead, "care plan") if plan else None,
    }
    closed = bool(plan and plan.formula.form == "closed_bag")
    if stock is not None and pieces is None and slots.said.has(*FEEDING_BAGS) and not closed:
        pieces = qty(1, "1")  # an empty bag holds no formula: a new one each day
    if (
        stock is None
        and plan is not None
        and slots.said.has(*FEEDING_BAGS)
        and plan.supplies.bags is not None
        and not closed
    ):
        slots.fill("stock", Decimal(plan.supplies.bags), "care plan")
        return {
            "stock": qty(plan.supplies.bags, "1"),
            "counted": plan.supplies.counted or night.today,
            "pieces_a_day": pieces or qty(1, "1"),
            **shared,
        }
    counted = night.today
    if stock is None:
        assert plan is not None
        if plan.supplies.containers is None:
            raise Ask("containers")
        stock, counted = Decimal(plan.supplies.containers), plan.supplies.counted or night.today
        slots.fill("stock", stock, "care plan")
        slots.fill("counted", counted, "care plan")
    if stock < 0:
        raise Ask("containers", code="slip_impossible", said=stock, slot="stock")
    if pieces is not None:
        return {"stock": qty(stock, "1"), "counted": counted, "pieces_a_day": pieces, **shared}
    size = slots.get("container")
    if size is None:
        size = slots.fill("container", plan.formula.container, "care plan") if plan else None
    size = slots.need("container") if size is None else size
    daily = day_volume(slots)
    if daily is None:
        raise Ask("count")
    if plan is not None and plan.equipment.priming_volume is not None:
        pumps = sum(f.method == "pump" for f in plan.feeds)
        daily = (daily + plan.equipment.priming_volume * pumps).to("mL")
    slots.fill("daily", daily, "care plan")
    return {
        "stock": qty(stock, "1"),
        "counted": counted,
        "container": size,
        "daily": daily,
        "keeps": not closed,
        **shared,
    }


def _counts(slots: Slots) -> tuple[Decimal | None, Any]:
    """The stock said, and the pieces a day said ("two a night", "@ 2/night")."""
    stock, pieces = None, None
    for spoken in slots.said.spoken:
        reading = spoken.reading("count", "number", "rate")
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
            stock = Decimal(reading.value)
            slots.used["stock"] = Used(stock, "question", spoken.amount.text)
            slots.spoken["stock"] = spoken
    return stock, pieces
