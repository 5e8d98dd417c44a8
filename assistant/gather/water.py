"""All the water of a day: the formula's own and every flush, against the goal."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.gather._amounts import A_DAY_LONG, CONTINUOUS, WHOLE_DAY, amount, day_volume, fed_all_day
from assistant.gather._flushes import (
    IN_THE_FORMULA,
    NO_FLUSHES,
    ON_TOP,
    ONLY_FLUSHES,
    as_many,
    by_mouth,
    flushes_alone,
    lots_of_medicine,
    of_each,
    without_flushes,
)
from assistant.gather._goal import goal_told
from assistant.gather._had import asks_what_was_had, water_had
from assistant.gather._shared import check_entry
from assistant.night import feed_time
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.slots import Slots
from rules.quantity import Quantity, qty


def gather(slots: Slots) -> Mapping[str, Any]:
    lots_of_medicine(slots)
    plan, flushed = slots.night.plan, _listed(slots)
    if flushed is not None:
        return {"volume": qty(0, "mL"), "free_water": qty(100, "%"), "extra": flushed}
    if "volume" not in slots.carried and asks_what_was_had(slots):
        return _had(slots)
    if ADDS_TO_IT.match(slots.said.lower):
        return _of_that(slots)
    slots.assign(
        volume=Want("volume", ("given", "total", "left"), shy=0.1, planned=day_volume(slots)),
        flush=Want("volume", ("flush",), told=True, planned=plan.flushes.volume if plan else None),
        share=Want("percent", (), bare=False),
        goal=Want("volume", ("goal",), shy=0.05, told=True, planned=plan.water_goal if plan else None),
    )
    goal_told(slots)
    flushes = _count(slots) or as_many(slots)
    if _all_day(slots) and slots.get("volume") is None:
        return _round_the_clock(slots)
    if flushes_alone(slots) and flushes is None and "volume" not in slots.spoken:
        slots.remarks.append("only_flushes")
        return {"volume": qty(0, "mL"), "free_water": qty(100, "%"), **_planned(slots)}
    flush = slots.get("flush")
    if flush is None and flushes is not None:
        flush = _each(slots)
    if flush is not None and flushes is None and "flush" in slots.spoken:
        flushes = _how_many(slots)
    water_said = flush is not None and flushes is None and not of_each(slots)
    if flush is not None and not water_said and plan is not None:
        check_entry(slots, "flush", flush, plan.flushes.volume)
    if (
        flush is not None
        and flushes is not None
        and not (slots.has("volume") or "flush_count" in slots.carried)
        and not slots.said.has(
            r"feeds?", "formula", "milk", "all fluid", "altogether", "whole day", r"cartons?", "goal", "short", "target"
        )
    ):
        slots.used["flush_count"] = Used(flushes, "question")
        return {"volume": qty(0, "mL"), "free_water": qty(100, "%"), "extra": (flush * flushes).to("mL")}
    made: dict[str, Any] = {"volume": amount(slots, check=False)}
    made.update(_share(slots))
    if without_flushes(slots, IN_THE_FORMULA):
        made["flush"] = None
    elif water_said:  # "500 mL of water flushed": all of it, said as one amount
        slots.used["water"] = slots.used.pop("flush")
        made.update(_planned(slots) if slots.said.has(*ON_TOP) else {})
        made.update(extra=flush)
    elif flushes is not None:
        each = flush if flush is not None else slots.fill("flush", plan.flushes.volume if plan else None, "care plan")
        each = slots.need("flush") if each is None else each
        made.update(extra=(each * flushes).to("mL"))
        slots.used["flush_count"] = Used(flushes, "question")
    else:
        made.update(_planned(slots))
    by_mouth(slots, made)
    goal = slots.get("goal")
    if goal is None and plan is not None and not ("volume" in slots.spoken and slots.said.has(*NO_FLUSHES)):
        goal = slots.fill("goal", plan.water_goal, "care plan")
    return {**made, "goal": goal}


PLAIN = (r"plain water", r"(?:just|only) water", r"water (?:only|alone)", r"flush\w*", r"clear water", r"tap water")


def _had(slots: Slots) -> Mapping[str, Any]:
    """ "How much water has he had today": by the log, and no flush that was only planned."""
    volume, extra = water_had(slots, plain=slots.said.has(*PLAIN, *ONLY_FLUSHES))
    plan, plain = slots.night.plan, volume == qty(0, "mL")
    goal = None if plan is None or plain else slots.fill("goal", plan.water_goal, "care plan")
    share = {"free_water": qty(100, "%")} if plain else _share(slots)
    return {"volume": volume, **share, "extra": extra, "goal": goal}


def _of_that(slots: Slots) -> Mapping[str, Any]:
    """ "And the water?": of what was had, or the amount told before without a day's flushes; else it is asked."""
    if "volume" not in slots.carried:
        raise Ask("which_question", code="water_of_what")
    if slots.carried["volume"].origin == "feed log":
        return _had(slots)
    return {"volume": amount(slots, check=False), **_share(slots)}


def _all_day(slots: Slots) -> bool:
    """A feed round the clock; "24 hours" alone is only the day unless a rate stands beside it."""
    if slots.said.has(*CONTINUOUS):
        return True
    whole_day = slots.said.has(A_DAY_LONG) or (fed_all_day(slots) and slots.said.has(*WHOLE_DAY))
    fast = any(s.reading("rate") is not None or s.roles.get("rate", 0.0) > 0.6 for s in slots.said.spoken)
    return fast and whole_day


def _round_the_clock(slots: Slots) -> Mapping[str, Any]:
    """ "80 mL an hour continuous, plus 100 every four hours": a day is 24 hours at that rate."""
    slots.assign(rate=Want("rate", ("rate",)), every=Want("time", ("every",), bare=False))
    plan, day = slots.night.plan, qty(24, "h")
    rate = slots.get("rate") or slots.need("rate")
    every = slots.get("every")
    flush = slots.get("flush") or slots.fill("flush", plan.flushes.volume if plan else None, "care plan")
    return {
        "volume": (rate * day).to("mL"),
        **_share(slots),
        "flush": flush if every is not None else None,
        "every": every,
        "running": [day] if every is not None else [],
        "goal": slots.fill("goal", plan.water_goal, "care plan") if plan else None,
    }


def _count(slots: Slots) -> Decimal | None:
    """How many flushes: "7 flushes", "eleven forty mil flushes", "6 x a day"."""
    for spoken in slots.said.spoken:
        reading = spoken.reading("count")
        if reading is not None and reading.unit in ("flush", "time", "times", ""):
            slots.spoken["flushes"] = spoken
            return Decimal(reading.value)
    return None


def _how_many(slots: Slots) -> Decimal | None:
    """The number that stands right before an amount of several flushes: "eleven forty mil flushes"."""
    mine = slots.spoken["flush"]
    if not mine.after.startswith(("flushes", "flushs", "ml flushes", "mil flushes")):
        return None
    for spoken in slots.said.spoken:
        bare = spoken.reading("number", "count")
        if bare is not None and spoken.amount.end == mine.amount.start:
            slots.spoken["flushes"] = spoken
            return Decimal(bare.value)
    raise Ask("count")


def _each(slots: Slots) -> Any:
    """The amount that stands right after the number of flushes: "6 flushes of 60", "eleven forty mil flushes"."""
    order = [id(s) for s in slots.said.spoken]
    after = order.index(id(slots.spoken["flushes"])) + 1
    if after < len(order):
        spoken = slots.said.spoken[after]
        reading = spoken.reading("volume", "number")
        if reading is not None and spoken.before in ("", *OF_EACH):
            slots.spoken["flush"] = spoken
            slots.used["flush"] = Used(measure("volume", reading, slots.night), "question", spoken.amount.text)
            for name in ("volume", "goal"):
                if slots.spoken.get(name) is spoken:
                    slots.spoken.pop(name)
                    slots.used.pop(name)
            return slots.used["flush"].value
    return None


ADDS_TO_IT = re.compile(
    r"(?:(?:so|ok|then|right) )*(?:and|plus|what about|how about) (?:the |his |her )?(?:free )?(?:water|fluids?)"
    r"(?: (?:in|with) that| too| as well)?\W*$"
)
OF_EACH = ("of", "x", "at", "@", "each of", "flushes of")
AND_ONE_OF = re.compile(r"\b(?:and|plus) (?:then )?(?:a|an|another|one)(?: (?:flush|more|big one))? of$")


def _listed(slots: Slots) -> Quantity | None:
    """ "Three flushes of 20 and one of 50": what they come to, where more than one size is told."""
    total, sizes, before = qty(0, "mL"), 0, None
    for spoken in slots.said.spoken:
        count = before.reading("count") if before is not None else None
        reading = spoken.reading("volume", "number")
        if reading is not None and count is not None and count.unit == "flush" and spoken.before in OF_EACH:
            total, sizes = total + measure("volume", reading, slots.night) * Decimal(count.value), sizes + 1
        elif reading is not None and sizes and AND_ONE_OF.search(spoken.before):
            total, sizes = total + measure("volume", reading, slots.night), sizes + 1
        before = spoken
    if sizes < 2:
        return None
    slots.spoken.update({f"flush_{s.amount.start}": s for s in slots.said.spoken})
    slots.used["flushed"] = Used(total.to("mL"), "question")
    return slots.used["flushed"].value


def _share(slots: Slots) -> dict[str, Any]:
    plan, said = slots.night.plan, slots.get("share")
    if said is not None:
        return {"free_water": said}
    if plan is not None and plan.formula.free_water is not None:
        return {"free_water": slots.fill("free_water", qty(plan.formula.free_water * 100, "%"), "care plan")}
    if plan is not None:
        return {"density": slots.fill("energy_density", plan.formula.energy, "care plan")}
    return {"density": slots.need("energy_density")}


def _planned(slots: Slots) -> dict[str, Any]:
    """Every flush that the plan orders in a day."""
    plan = slots.night.plan
    if plan is None or plan.flushes.volume is None:
        return {"flush": slots.get("flush")}
    when, running = plan.flushes.when, [feed_time(f) for f in plan.feeds]
    said = slots.get("flush")
    return {
        "flush": said if said is not None else slots.fill("flush", plan.flushes.volume, "care plan"),
        "before_feed": "before_feed" in when,
        "after_feed": "after_feed" in when,
        "feeds": len(plan.feeds),
        "medicines": _medicines(slots, plan.flushes.medicines_a_day or 0) if "after_medicine" in when else 0,
        "every": plan.flushes.every,
        "running": [r for r in running if r is not None] if plan.flushes.every is not None else [],
    }


OF_MEDICINES = ("medicines", "meds", "medicine", "medications", "doses of medicine", "lots of meds", "tablets")
MOST_MEDICINES = 30


def _medicines(slots: Slots, planned: int) -> int:
    """How many medicines a day: said ("on 8 medicines this week"), else the plan's."""
    for spoken in slots.said.spoken:
        reading = spoken.reading("number", "count")
        if reading is not None and spoken.after.startswith(OF_MEDICINES) and 0 <= reading.value <= MOST_MEDICINES:
            slots.spoken["medicines"] = spoken
            slots.used["medicines"] = Used(Decimal(reading.value), "question", spoken.amount.text)
            return int(reading.value)
    return planned
