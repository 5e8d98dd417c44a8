"""Do the numbers on the pump, or measured out, match the order?"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.gather._shared import feed, ordered_rate, volume_of, which_feed
from assistant.hear.clock import resolve
from assistant.household.care_plan import Feed
from assistant.message import Reading
from assistant.night import feed_rate
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.slots import Slots
from rules.quantity import Quantity, qty
from rules.slip import slip
from rules.steps import rate_at

NOW_DAYS = ("today", "tonight", "yesterday", "last night")
KEYED_IN = (r"(?:set|put|dial\w*|press\w*|entered|punched)(?: \w+){0,2} (?:to|at|in|on)", "typed", "keyed")
FAR_LESS = 5  # an amount this many times smaller than the ordered one is hardly an amount
SHOWN = (r"pump(?:'?s)?", r"screen(?:'?s)?", r"display(?:'?s)?", "rate", "speed", r"dial(?:'?s)?", r"machine(?:'?s)?")


def _ordered_then(slots: Slots, of: Feed | None) -> Quantity | None:
    """The ordered rate; of a day to come, the step that is on by then."""
    plan, day = slots.night.plan, slots.day()
    if plan is None or not plan.steps or day in (None, *NOW_DAYS) or (of is not None and of.method != "pump"):
        ordered = ordered_rate(slots)
        return ordered if ordered is not None or of is None else feed_rate(of)
    last = resolve(Reading("clock", 23 * 60 + 59, "24h"), slots.night.now, "future", day)[0]
    return rate_at(plan.ordered_steps, last)


def _like_all(slots: Slots) -> Feed | None:
    """Where only a rate is told and every feed by pump has the same one, any of them does."""
    pumped = [f for f in slots.night.feeds if f.method == "pump"]
    same = len({feed_rate(f) for f in pumped}) == 1
    return pumped[0] if same and "volume" not in slots.spoken and "rate" in slots.spoken else None


def _on_the_pump(slots: Slots, ordered: Quantity | None, planned: Quantity | None) -> None:
    """The one number, without a unit: the rate, where it is far from the amount, or the pump shows it."""
    if "rate" in slots.spoken or ordered is None:
        return
    spoken = slots.spoken.get("volume")
    numbers = [s for s in slots.said.spoken if s.roles.get("noise", 0.0) <= NOISE]
    as_amount = spoken is not None and (planned is None or slots.used["volume"].value * FAR_LESS > planned)
    if spoken is not None and as_amount and not _rate_in_a_slip(spoken, slots, ordered, planned):
        return
    if spoken is None and (len(numbers) != 1 or not slots.said.has(*SHOWN)):
        return
    spoken = numbers[0] if spoken is None else spoken
    bare = spoken.reading("number")
    if bare is None or spoken.amount.readings[0].kind != "number":
        return
    slots.spoken.pop("volume", None)
    slots.used.pop("volume", None)
    slots.carried.pop("rate", None)
    slots.spoken["rate"] = spoken
    slots.used["rate"] = Used(measure("rate", bare, slots.night), "question", spoken.amount.text)


def _rate_in_a_slip(spoken: Spoken, slots: Slots, ordered: Quantity, planned: Quantity | None) -> bool:
    """ "I press 600", of 60 an hour and 1,080 in all: ten times the rate, and no such slip of the amount."""
    bare = spoken.amount.readings[0]
    if bare.kind != "number" or slots.said.has(*OF_AN_AMOUNT):
        return False
    volume = slots.used["volume"].value
    by_rate = slip(measure("rate", bare, slots.night), ordered) in ("tenfold", "hundredfold", "digit_swap")
    if by_rate and slots.said.has("rate", "speed", "flow"):
        return True  # "rate check: it says 385", of 38.5 an hour and 385 in all
    return by_rate and not (planned is not None and (volume == planned or slip(volume, planned) in A_SLIP))


OF_AN_AMOUNT = (r"volume", r"amount", r"limit", r"dose", r"total", r"mls?", r"target", r"vtbi")
A_SLIP = ("tenfold", "tenth", "hundredfold", "hundredth", "digit_swap")
NOISE = 0.9  # "6.0 and not 60": the number that is denied is none that is shown
NEAR, FAR = Decimal("0.5"), 2  # times the ordered rate


def _the_other_one(slots: Slots, ordered: Quantity | None) -> None:
    """ "95, limit 760": where the amount is named, a bare number that is the ordered rate is the rate."""
    if "rate" in slots.spoken or "volume" not in slots.spoken or ordered is None:
        return
    for spoken in slots.unused():
        bare = spoken.reading("number")
        if bare is not None and bare is spoken.amount.readings[0] and measure("rate", bare, slots.night) == ordered:
            slots.spoken["rate"] = spoken
            slots.used["rate"] = Used(ordered, "question", spoken.amount.text)


def _told_again(slots: Slots) -> None:
    """ "Pump has 72, is that right? ... aye, 72": one number twice is no amount beside a rate."""
    one, other = slots.spoken.get("rate"), slots.spoken.get("volume")
    bare = [s.amount.readings[0] for s in (one, other) if s is not None]
    if len(bare) == PAIR and {r.kind for r in bare} == {"number"} and bare[0].value == bare[1].value:
        slots.spoken.pop("volume")
        slots.used.pop("volume")


def _of_what(slots: Slots, ordered: Quantity | None, planned: Quantity | None) -> None:
    """ "It says 400": one number that nothing names and that is far from the order of what it is taken for.

    Or one that is the ordered amount and ten times the ordered rate: a yes would let it run in ten times too fast.
    """
    spoken = slots.spoken.get("rate") or slots.spoken.get("volume")
    if len(slots.said.spoken) != 1 or spoken is None or slots.confirmed:
        return
    bare = spoken.amount.readings[0]
    if bare.kind != "number" or slots.favours is not None:
        return
    as_rate = ordered is not None and slip(measure("rate", bare, slots.night), ordered) in ("tenfold", "hundredfold")
    if as_rate and "volume" in slots.spoken and not slots.said.has(*OF_AN_AMOUNT):
        raise Ask("which_number", code="rate_or_amount", numbers=spoken.amount.text)
    if slots.said.has(*NAMED):
        return
    order, kind = (ordered, "rate") if "rate" in slots.spoken else (planned, "volume")
    said = measure(kind, bare, slots.night)
    if order is not None and (NEAR <= said / order <= FAR or slip(said, order) in A_SLIP):
        return
    raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)


NAMED = (r"pump\w*", r"machine\w*", "rate", "speed", "volume", "amount", "limit", "dose", "dial", "total",
         "an hour", "per hour", r"screen\w*", r"display\w*", "set", "bag", "feed")
_IS = r"(?: (?:is|of|at|to|says|shows|reads|set|in|as|box|field|number|line|down|the))*"
_RATE, _VOLUME = r"(?:rate|speed|flow)(?:'?s)?", r"(?:volume|amount|total|limit|dose|vol|target)(?:'?s)?"
RATE_NAMED = re.compile(rf"\b{_RATE}{_IS}$")
VOLUME_NAMED = re.compile(rf"\b{_VOLUME}{_IS}$")
_FOR = r"(?:mls? |mils? )?(?:an hour )?(?:(?:is|was|in|for|as|on|to) )?(?:the )?(?:pump )?"
RATE_AFTER, VOLUME_AFTER = re.compile(rf"{_FOR}{_RATE}\b"), re.compile(rf"{_FOR}{_VOLUME}\b")


PAIR = 2


def _by_name(slots: Slots) -> None:
    """ "Rate 512, volume 64", "512 rate, 64 dose": numbers called by name are that, however well they would fit the
    order swapped."""
    numbers = [s for s in slots.said.spoken if s.reading("number") is not None and s.roles.get("noise", 0.0) <= NOISE]
    if len(numbers) < PAIR:
        return
    rates, volumes = ([s for s in numbers if s.roles.get(role, 0.0) >= LABELLED] for role in ("rate", "total"))
    if not (rates or volumes):
        rates, volumes = _named(numbers)
    if len(numbers) == PAIR and len(rates) + len(volumes) == 1:  # "rate 512 and 64": the other is the other
        other = [s for s in numbers if s not in (*rates, *volumes)]
        rates, volumes = rates or other, volumes or other
    if len(rates) != 1 or len(volumes) != 1:
        return
    for name, spoken in (("rate", rates[0]), ("volume", volumes[0])):
        reading = spoken.reading("rate", "number") if name == "rate" else spoken.reading("volume", "number")
        if reading is None:
            return
        slots.spoken[name] = spoken
        slots.used[name] = Used(measure(name, reading, slots.night), "question", spoken.amount.text)


LABELLED = 3.0  # how plainly a number stands by a label of the pump ("640 where it says rate")


def _named(numbers: list[Spoken]) -> tuple[list[Spoken], list[Spoken]]:
    """Those that are called a rate, and those that are called an amount, by the words before or after them."""
    first, last = numbers[0].before, numbers[-1].after  # "72, limit 648": the name goes before, here
    leads = RATE_NAMED.search(first) or VOLUME_NAMED.search(first)
    before_it = bool(leads) or not (RATE_AFTER.match(last) or VOLUME_AFTER.match(last))
    rates = [s for s in numbers if (RATE_NAMED.search(s.before) if before_it else RATE_AFTER.match(s.after))]
    volumes = [s for s in numbers if (VOLUME_NAMED.search(s.before) if before_it else VOLUME_AFTER.match(s.after))]
    return rates, volumes


LABEL = (r"label", r"cartons?", r"tins?", r"cans?", r"bottles?", r"bags?", r"strength", r"box(?:es)?", r"pouch(?:es)?")
STRENGTHS = (Decimal("0.3"), Decimal(4))
FLUSHED = (r"flush\w*", r"rins\w*", r"water (?:after|before|through)")


def _strength(slots: Slots) -> Mapping[str, Any] | None:
    """ "The label says 1.4 kcal/mL, is that his?", "it's a 1.5, right?": the strength beside the plan's."""
    slots.assign(density=Want("density", (), bare=False))
    for spoken in slots.said.spoken if "density" not in slots.spoken and slots.said.has(*LABEL) else ():
        bare = spoken.amount.readings[0]
        if bare.kind == "number" and bare.value != int(bare.value) and STRENGTHS[0] <= bare.value <= STRENGTHS[1]:
            slots.spoken["density"] = spoken
            slots.used["density"] = Used(qty(bare.value, "kcal/mL"), "question", spoken.amount.text)
    if "density" not in slots.spoken:
        return None
    plan = slots.night.plan
    planned = slots.fill("plan_density", plan.formula.energy if plan is not None else None, "care plan")
    return {"density": slots.get("density").to("kcal/mL"), "plan_density": planned}


def _flush(slots: Slots) -> Mapping[str, Any] | None:
    """ "We flush 450 each time, is that right?": beside the plan's flush."""
    plan = slots.night.plan
    if not slots.said.has(*FLUSHED) or plan is None or plan.flushes.volume is None:
        return None
    told = [s for s in slots.said.spoken if (r := s.amount.readings[0]).kind == "volume" or r.kind == "number"]
    if len(told) != 1:
        return None
    reading = told[0].amount.readings[0]
    slots.spoken["volume"] = told[0]
    slots.counted.add("volume")  # "450 each time"
    slots.used["volume"] = Used(measure("volume", reading, slots.night), "question", told[0].amount.text)
    slots.remarks.append("of_a_flush")
    slots.fill("plan_flush", plan.flushes.volume, "care plan")
    return {"volume": slots.get("volume"), "plan_volume": plan.flushes.volume}


def gather(slots: Slots) -> Mapping[str, Any]:
    told = _strength(slots) or _flush(slots)
    if told is not None:
        return told
    if sum(s.reading("number") is not None for s in slots.said.spoken) > 1:
        slots.favours = None  # two numbers: the plan says which of them is which, not the turn before
    of = feed(slots, by_pump=slots.said.has(*SHOWN, *KEYED_IN))  # what is set, is set on a pump
    ordered, planned = _ordered_then(slots, of), volume_of(slots, of)
    slots.assign(
        rate=Want("rate", ("rate",), planned=ordered),
        volume=Want("volume", ("total", "left", "hung", "given"), planned=planned),
    )
    _told_again(slots)
    _by_name(slots)
    of = (feed(slots) or _like_all(slots)) if of is None else of
    ordered, planned = _ordered_then(slots, of), volume_of(slots, of)
    ordered = feed_rate(of) if ordered is None and of is not None else ordered
    _the_other_one(slots, ordered)
    _on_the_pump(slots, ordered, planned)
    _of_what(slots, ordered, planned)
    plan, rate, volume = slots.night.plan, slots.get("rate"), slots.get("volume")
    if rate is None and volume is None:
        raise Ask("rate")
    if of is None or (rate is not None and ordered is None) or (volume is not None and planned is None):
        raise which_feed(slots, "rate")
    slots.fill(
        "ordered_rate" if rate is not None else "ordered_volume", ordered if rate is not None else planned, "care plan"
    )
    return {
        "rate": rate,
        "volume": volume,
        "plan_rate": ordered,
        "plan_volume": planned,
        "kit_highest": plan.equipment.pump_highest_rate if plan else None,
    }
