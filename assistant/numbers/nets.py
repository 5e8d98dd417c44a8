"""Nets: what cannot be, or was not counted with, is asked about before a figure is given, whatever the words were.

`before_the_sum` looks at the numbers and at what the sum was given; `after_the_sum` at what it came to.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Decimal
from itertools import pairwise
from typing import Any

from assistant.gather._shared import feed, limits
from assistant.night import feed_rate, feed_volume
from assistant.numbers.number_pairs import beside
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask
from assistant.slots import Slots
from rules.outcome import Outcome
from rules.quantity import Quantity, is_amount, qty

#: the sums that count with "each", "plus 20", "ten less", "apart from" beside a number; in any other it is asked about
COUNTS_WITH = {
    "one_each": frozenset(
        {
            "containers",
            "convert",
            "energy",
            "intake",
            "mix",
            "protein",
            "supply",
            "syringe",
            "water",
            "flush",
            "timetable",
            "per_kg",
        }
    ),
    "added_on": frozenset(
        {"containers", "energy", "intake", "mix", "per_kg", "protein", "strength", "water", "supply"}
    ),
    "made_less": frozenset({"strength", "mix", "catch_up"}),
    "made_more": frozenset({"catch_up", "containers", "mix", "strength", "supply", "water"}),
    "taken_off": frozenset(),
}
BEFORE = ("taken_off", "added_on")
TIMED = ("start_by", "finish_at", "pour", "rate_needed", "change_rate")
SLACK = qty(1, "mL")


MORE_FLUSHES = re.compile(r"\b(?:more|extra|additional|further|another)\b")


def before_the_sum(slots: Slots, question: str, arguments: Mapping[str, Any]) -> None:
    """Raise Ask for two values of one number, for words that change a number and were not counted with, and for a
    time so short that no pump could give the feed in it."""
    for name, spoken in slots.spoken.items():
        if name not in slots.used and not name.startswith("off"):
            continue
        if spoken.amount.upper is not None:  # "55 or 60"
            raise Ask("which_number", numbers=spoken.amount.text)
        if not name.startswith("off") and name not in slots.counted and _changed(spoken, question):
            raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)
    for spoken in slots.said.spoken if question == "water" else ():
        count = spoken.reading("count")
        if count is not None and count.unit == "flush" and MORE_FLUSHES.search(f"{spoken.before} {spoken.amount.text}"):
            raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)  # more than how many?
    _one_or_the_other(slots)
    _far_from_the_plan(slots, question)
    if question in TIMED:
        _too_fast(slots, question, arguments)


def _one_or_the_other(slots: Slots) -> None:
    """ "At 112, or 100 if she is sick": of two numbers joined by "or" one was taken: which is meant is asked."""
    said = slots.said.spoken
    used = {id(s) for name, s in slots.spoken.items() if name in slots.used}
    for one, other in pairwise(said):
        alike = {r.kind for r in one.amount.readings} & {r.kind for r in other.amount.readings}
        joined = one.after.startswith("or ") or other.before in ("or", "or at", "or on") or one.after == "or"
        taken = (id(one) in used, id(other) in used)
        unsure = all(taken) and beside("or_maybe").search(f"{one.after} {other.before}")  # "60, or maybe it was 160"
        if joined and alike & ALTERNATIVES and (taken[0] != taken[1] or unsure):
            raise Ask("which_number", numbers=f"{one.amount.text}, {other.amount.text}")


ALTERNATIVES = frozenset({"number", "rate", "volume", "time"})


def _changed(spoken: Spoken, question: str) -> bool:
    """Does a word beside the number change it in a way that this sum does not count with?"""
    return any(
        question not in sums and beside(name).search(spoken.before if name in BEFORE else spoken.after)
        for name, sums in COUNTS_WITH.items()
    )


def _far_from_the_plan(slots: Slots, question: str) -> None:
    """ "Heat pump has the place at 24", "there were 33": a number without a unit that is far from what the plan has of
    its kind was hardly meant for it; nor is what a flush is, in a sum of all the water, the formula of a day."""
    if slots.as_it_ran:
        return
    plan = slots.night.plan
    for name, spoken in slots.spoken.items():
        value = slots.used[name].value if name in slots.used else None
        if plan is None or not is_amount(value) or slots.confirmed or question == "check_settings":  # that tells a slip
            continue
        a_flush = question == "water" and name == "volume" and value == plan.flushes.volume
        bare = spoken.amount.readings[0].kind == "number"
        if a_flush or (bare and (_outside(name, value, slots, question) or _odd_of_kit(name, value, slots, question))):
            raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)


def _outside(name: str, value: Quantity, slots: Slots, question: str) -> bool:
    """Is it far below the least, or far above the most, that the plan has of its kind?"""
    plan = slots.night.plan
    fed = [v for v in map(feed_volume, slots.night.feeds) if v is not None]
    if name in ("volume", "total", "given") and question in OF_FEEDS and fed:
        plainly = max(slots.spoken[name].roles.get(role, 0.0) for role in ("total", "given", "left")) >= PLAINLY
        most = None if question == "syringe" or plainly else sum(fed[1:], fed[0]) * SLIGHTLY  # "word limit 1500"
        little = value < min(fed) * SMALL and (question != "syringe" or value < SMALLEST)
        return bool(little or (most is not None and value > most))
    container = plan.formula.container if plan is not None else None
    if name == "container" and container is not None:
        return not container * Decimal("0.3") <= value <= container * 4
    rates = [r for f in slots.night.feeds if f.method == "pump" and (r := feed_rate(f)) is not None]
    rates += [r for r in limits(slots).values() if is_amount(r)]
    return name == "rate" and bool(rates) and not min(rates) / 2 <= value <= max(rates) * 2


def _odd_of_kit(name: str, value: Quantity, slots: Slots, question: str) -> bool:
    """ "She has 27 in the class": no syringe holds so much. "Water for all 10?": scoops, and no 10 mL of milk."""
    plan = slots.night.plan
    recipe = plan.formula.recipe if plan is not None else None
    if question == "syringe" and name == "syringe":
        return value.m_as("mL") not in SYRINGES
    if question != "mix" or name != "makes" or recipe is None or recipe.scoop is None or recipe.powder is None:
        return False
    assert recipe.makes is not None
    return bool(value < (recipe.makes * (recipe.scoop / recipe.powder).to("")).to("mL") / 2)


SYRINGES = frozenset(map(Decimal, ("1", "2", "2.5", "3", "5", "10", "12", "20", "25", "30", "35", "50", "60", "100")))
PLAINLY, SMALLEST = 0.9, qty(40, "mL")
SLIGHTLY = Decimal("1.05")  # times the plan's day


OF_A_DAY = ("water", "energy", "protein", "per_kg", "intake")
OF_FEEDS = (*OF_A_DAY, "syringe")
SMALL = Decimal("0.2")  # of the plan's smallest feed


def _too_fast(slots: Slots, question: str, arguments: Mapping[str, Any]) -> None:
    plan, of = slots.night.plan, feed(slots, by_pump=True)
    most = plan.equipment.pump_highest_rate if plan is not None else None
    over, volume = arguments.get("over"), arguments.get("volume")
    if volume is None and of is not None and of.method == "pump":
        volume = feed_volume(of)
    written = "over" in slots.used and slots.used["over"].origin == "care plan"  # of a feed by syringe, as ordered
    if (
        most is None
        or written
        or over is None
        or volume is None
        or over.magnitude <= 0
        or (of is not None and of.method != "pump")
    ):
        return
    fast: Quantity = (volume / over).to("mL/h")
    by_hand = [f for f in slots.night.feeds if f.method != "pump"]
    if fast <= most or any(feed_volume(f) == volume or f.over == over for f in by_hand):  # "her 180 over 20 minutes"
        return
    if question != "rate_needed":
        raise Ask("which_number", code="unclaimed", numbers=slots.used["over"].words or "that time")
    raise Ask("which_number", code="slip_above_kit", slot="over", said=fast)


MOST_OF_IT = Decimal("1.5")  # times what is planned: more went in than the feed that it is held against can be
MOST_DROPS = 400  # a minute; far more than can be counted (common practice, no source)


def after_the_sum(slots: Slots, question: str, arguments: Mapping[str, Any], outcome: Outcome) -> None:
    """Raise Ask where more would have gone in than a feed of the plan is."""
    drops = outcome.figures["drops"].value if question == "drops" else None
    if is_amount(drops) and drops.magnitude > MOST_DROPS:
        raise Ask("over")  # so fast no drops fall: another time, or another number, is meant
    share = outcome.figures["fraction"].value if question == "intake" else None
    if share is not None and is_amount(share) and share.magnitude > MOST_OF_IT:
        raise Ask("which_feed" if len(slots.night.feeds) > 1 else "volume", names=[f.name for f in slots.night.feeds])
    missed = outcome.figures["shortfall"].value if question == "catch_up" else None
    fed = [v for v in map(feed_volume, slots.night.feeds) if v is not None]
    if is_amount(missed) and fed and arguments.get("missed_time") is not None and missed > max(fed) + SLACK:
        raise Ask("off")  # longer than the longest feed is: it was not off for so long
    if question != "delivered" or {"volume_limit", "given"} & {n for n, v in arguments.items() if v is not None}:
        return
    of = feed(slots)
    volumes = [v for v in map(feed_volume, slots.night.feeds if of is None else (of,)) if v is not None]
    given = outcome.figures["delivered"].value
    if volumes and is_amount(given) and given > max(volumes) + SLACK:
        raise Ask("which_number", code="beyond_feed", said=given, most=max(volumes))
