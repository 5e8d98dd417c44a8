"""What another rate would mean: figures and the plan's limits; never advice to change it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from assistant.gather import rate_needed
from assistant.gather._relative import by_so_much
from assistant.gather._shared import FINISH, NOW, OVER, RATE, START, check_entry, feed, limits, ordered_rate, volume_of
from assistant.gather._when import now, planned_start, start
from assistant.household.care_plan import Feed
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.slots import Slots
from rules.clock import before, between
from rules.quantity import Quantity, number, qty


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(
        rate=RATE, volume=Want("volume", ("left", "total", "hung")), over=OVER, start=START, finish=FINISH, now=NOW
    )
    by_so_much(slots, of_the_rate=True)
    _other_than_ordered(slots)
    asked = slots.get("rate")
    of = feed(slots)
    volume = rate_needed.volume(slots, may_be_on=False)
    if asked is None:
        over = rate_needed.span(slots)
        if over is None or volume is None:
            raise Ask("rate", code=_which_rate(slots), **{n: v for n, v in limits(slots).items() if v is not None})
        asked = slots.fill("rate", (volume / over).to("mL/h"), "question")  # "over forty minutes": the rate it means
    else:
        check_entry(slots, "rate", asked, ordered_rate(slots))
    _limits_quoted(slots, asked)
    if "rate" in slots.spoken and slots.has("over"):
        return {"rate": asked, "over": slots.get("over"), "ordered": ordered_rate(slots), **limits(slots)}
    by_log = "volume" in slots.used and slots.used["volume"].origin == "feed log"  # what is left is left from now on
    begins = start(slots) if not by_log and (slots.has("start") or "start" in slots.carried) else None
    if (
        begins is None
        and slots.used.get("volume")
        and (slots.used["volume"].origin == "care plan" or _the_whole_feed_to_come(slots, of, volume))
        and of is not None
        and not slots.said.has("from now", r"(?<!\d )now", "right now")
    ):
        begins = planned_start(slots, of)
    if (left := _left_from_now(slots, begins, volume)) is not None:
        volume, begins = left, None
    plan = slots.night.plan
    return {
        "rate": asked,
        "volume": volume,
        "now": begins or now(slots),
        "ordered": ordered_rate(slots),
        "kit_highest": plan.equipment.pump_highest_rate if plan else None,
        **limits(slots),
    }


def _limits_quoted(slots: Slots, asked: Quantity) -> None:
    """The plan's limits are said also where the rate is inside both of them."""
    bounds = limits(slots)
    low, high = bounds["lowest"], bounds["highest"]
    if low is not None and high is not None and low <= asked <= high and asked != ordered_rate(slots):
        slots.remarks.append("family_may_change" if bounds["family_may_change"] else "within_limits")


def _which_rate(slots: Slots) -> str:
    """Which rate is asked about, after what the plan says of changing it ("can I run it a bit faster?")."""
    if slots.night.plan is None:
        return "rate"
    bounds = limits(slots)
    free = bounds["family_may_change"]
    return "which_rate_no" if not free else "which_rate_yes" if bounds["lowest"] and bounds["highest"] else "which_rate"


def _the_whole_feed_to_come(slots: Slots, of: Feed | None, volume: Quantity | None) -> bool:
    """ "Suppose tonight's feed ran at 36, same 378 mL": all of it, from its planned start; not while one runs."""
    text = slots.said.heard.text
    named = of is not None and (of in slots.night.feeds_named(text) or slots.said.has("tonight(?:'?s)?"))
    return named and slots.night.running is None and of is not None and volume == volume_of(slots, of)


FROM_NOW = (
    r"(?:drop|turn|bump|put|take|bring|knock|slow|speed|switch|change|lower|raise|ease|cut)\w*"
    r"(?: (?:it|him|her|them|me|the (?:pump|rate|feed)))?(?: (?:back|up|down))? to",
    r"go(?:es|ing)? (?:up|down) to", r"for (?:the rest|what'?s left)", r"from here(?: on)?", r"from now(?: on)?",
)


def _left_from_now(slots: Slots, begins: datetime | None, volume: Quantity | None) -> Quantity | None:
    """ "Started at five. If I drop it to 80, when is he off?": what is left now of the whole feed, at the ordered rate.

    Only of a start that was told and has passed: a feed of the log knows what it has given.
    """
    ran, present = ordered_rate(slots), now(slots)
    told = begins is not None and slots.used.get("start") is not None and slots.used["start"].origin == "question"
    whole = volume is not None and slots.used["volume"].origin == "care plan"
    if not (told and whole and slots.said.has(*FROM_NOW)) or begins is None or volume is None or ran is None:
        return None
    gone = (ran * between(begins, present)).to("mL") if before(begins, present) else qty(0, "mL")
    if not qty(0, "mL") < gone < volume:
        return None
    left = volume - gone
    slots.used["volume"] = Used(left, "question")
    slots.worked_out.add("volume")
    return left


def _other_than_ordered(slots: Slots) -> None:
    """ "30 is a touch quick and 25 would suit", "66 to 72", where 30 and 66 are ordered: the other is asked about."""
    mine, ordered = slots.spoken.get("rate"), ordered_rate(slots)
    if mine is None or ordered is None:
        return
    first = mine.amount.readings[0]
    if mine.amount.upper is not None and first.value == number(ordered, "mL/h"):
        amount = replace(mine.amount, readings=(replace(first, value=mine.amount.upper),), upper=None)
        _take(slots, replace(mine, amount=amount))
    elif slots.used["rate"].value == ordered:
        rest = [s for s in slots.unused() if s.amount.readings[0].kind in ("number", "rate") and _near(s, ordered)]
        if len(rest) == 1:
            slots.spoken["ordered_rate"] = mine
            _take(slots, rest[0])


def _take(slots: Slots, spoken: Spoken) -> None:
    value = measure("rate", spoken.amount.readings[0], slots.night)
    slots.spoken["rate"], slots.used["rate"] = spoken, Used(value, "question", spoken.amount.text)


MEANT = 0.9  # a number whose noise is above this is not meant


def _near(spoken: Spoken, ordered: Quantity) -> bool:
    """Is a number near enough to the ordered rate to be another one?"""
    told = spoken.amount.readings[0]
    in_mL = told.kind == "number" or told.unit == "mL/h"
    taken_back = spoken.roles.get("noise", 0.0) > MEANT  # "72, not 69"
    return in_mL and not taken_back and Decimal("0.5") <= Decimal(told.value) / number(ordered, "mL/h") <= 2
