"""How many syringes a feed is, how much in each, and the plan's time."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.gather._amounts import ONE_OF_THEM
from assistant.gather._shared import OVER, check_entry, feed, volume_of, which_feed
from assistant.household.care_plan import Feed
from assistant.night import feed_time
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.slots import Slots
from rules.quantity import qty


def _in_so_many(slots: Slots) -> Decimal | None:
    """ "330 in 6 syringes, how much each": the number of them is given, what goes in each is asked."""
    if not slots.said.has("each", "per syringe", "in one", "every syringe"):
        return None
    for spoken in slots.said.spoken:
        count = spoken.reading("count")
        if count is not None and count.unit == "syringe" and Decimal(count.value) >= 1:
            slots.spoken["count"] = spoken
            return Decimal(count.value)
    return None


def _by_syringe(slots: Slots) -> Feed | None:
    """ "The dinner time one", where that fits several feeds: a syringe is filled for the one that is fed by it."""
    named = slots.night.feeds_named(slots.said.heard.text)
    fits = [f for f in named if f.method == "syringe"]
    return fits[0] if len(named) > 1 and len(fits) == 1 else None


def _size_told(slots: Slots) -> None:
    """ "Only 20 ml syringes here", "we've 20 mL ones": what one holds, and not the feed."""
    for spoken in slots.said.spoken:
        volume, after = spoken.reading("volume"), spoken.after
        again = "syringe" in slots.carried and after.startswith("one") and not after.startswith("one feed")
        again = again or (after.startswith("ones") and spoken.amount.readings[0].unit == "mL")
        if volume is not None and (after.startswith("syringe") or again) and "syringe" not in slots.spoken:
            slots.spoken["syringe"] = spoken
            slots.used["syringe"] = Used(measure("volume", volume, slots.night), "question", spoken.amount.text)
        count = spoken.reading("count")
        named = count is not None and count.unit == "syringe" and spoken.before.endswith(("the", "those", "these"))
        if named and count is not None and Decimal(count.value) in SIZES and "syringe" not in slots.spoken:
            slots.spoken["syringe"] = spoken  # "how many of the 60 syringes is 150"
            slots.used["syringe"] = Used(qty(Decimal(count.value), "mL"), "question", spoken.amount.text)


SIZES = frozenset({5, 10, 20, 30, 50, 60})  # mL, of syringes that are made


def _a_size_alone(slots: Slots, of: Feed | None) -> None:
    """ "All I have is 20 mL ones, breakfast is how many goes?": no feed of 20 mL, where the plan's is larger."""
    told, ordered = slots.spoken.get("volume"), volume_of(slots, of)
    if told is None or "syringe" in slots.spoken or ordered is None or slots.used["volume"].origin != "question":
        return
    if told.roles.get("flush", 0.0) >= 1.0:  # "60 of water, with our little syringe"
        return
    if told.after.startswith(("of ", "more", "left")):  # "just 60 mL of it by syringe": an amount of the feed
        return
    if slots.used["volume"].value.m_as("mL") in SIZES and slots.used["volume"].value < ordered / 2:
        slots.spoken["syringe"], slots.used["syringe"] = slots.spoken.pop("volume"), slots.used.pop("volume")


def gather(slots: Slots) -> Mapping[str, Any]:
    _size_told(slots)
    slots.assign(
        syringe=Want("volume", ("syringe",), told=True),
        volume=Want("volume", ("left", "total", "given", "hung", "flush")),
        over=OVER,
    )
    plan, of = slots.night.plan, _by_syringe(slots) or feed(slots)
    by_words = slots.said.has(r"syringe\w*", r"plungers?", r"bolus\w*", "push", "draw") or slots.carried or slots.spoken
    if of is not None and of.method == "pump" and not by_words:
        raise Ask("which_question", code="fills_of")  # "how many fills is it?": of the bag, or of a syringe
    _a_size_alone(slots, of)
    volume = slots.get("volume")
    size = slots.get("syringe")
    if size is not None and size.m_as("mL") > 100:  # nobody feeds from a syringe of a litre: it is the feed
        if volume is None:
            slots.used["volume"], slots.spoken["volume"] = slots.used["syringe"], slots.spoken["syringe"]
            volume = size
        slots.used.pop("syringe", None)
        slots.spoken.pop("syringe", None)
        size = None
    parted = _in_so_many(slots) if size is None else None
    if volume is not None:
        check_entry(slots, "volume", volume, volume_of(slots, of))
    elif plan is not None and slots.said.has(ONE_OF_THEM):
        volume = slots.fill("volume", plan.formula.container, "care plan")
    else:
        volume = slots.fill("volume", volume_of(slots, of), "care plan")
    if volume is None:
        raise which_feed(slots)
    if parted is not None:
        each = slots.fill("syringe", (volume / parted).to("mL"), "question")
        return {"volume": volume, "syringe": each, "over": None}
    if size is None and plan is not None:
        size = slots.fill("syringe", plan.equipment.syringe, "care plan")
    size = slots.need("syringe") if size is None else size
    said_whole = "volume" in slots.used and slots.used["volume"].origin == "question"
    if slots.has("over"):
        return {"volume": volume, "syringe": size, "over": slots.get("over")}
    over = None
    if of is not None and of.method != "pump" and not (said_whole and volume != volume_of(slots, of)):
        over = slots.fill("over", feed_time(of), "care plan")
    return {"volume": volume, "syringe": size, "over": over}
