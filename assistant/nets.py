"""Nets: what cannot be, or was not counted with, is asked about before a figure is given, whatever the words were.

`before_the_sum` looks at the numbers and at what the sum was given; `after_the_sum` at what it came to.
"""

from __future__ import annotations

from collections.abc import Mapping
from itertools import pairwise
from typing import Any

from assistant.gather._shared import feed
from assistant.night import feed_volume
from assistant.number_pairs import beside
from assistant.said import Spoken
from assistant.slots import Slots
from assistant.wants import Ask
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
    _one_or_the_other(slots)
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


def _too_fast(slots: Slots, question: str, arguments: Mapping[str, Any]) -> None:
    plan, of = slots.night.plan, feed(slots, by_pump=True)
    most = plan.equipment.pump_highest_rate if plan is not None else None
    over, volume = arguments.get("over"), arguments.get("volume")
    if volume is None and of is not None and of.method == "pump":
        volume = feed_volume(of)
    if (
        most is None
        or over is None
        or volume is None
        or over.magnitude <= 0
        or (of is not None and of.method != "pump")
    ):
        return
    fast: Quantity = (volume / over).to("mL/h")
    if fast <= most:
        return
    if question != "rate_needed":
        raise Ask("which_number", code="unclaimed", numbers=slots.used["over"].words or "that time")
    raise Ask("which_number", code="slip_above_kit", slot="over", said=fast)


def after_the_sum(slots: Slots, question: str, arguments: Mapping[str, Any], outcome: Outcome) -> None:
    """Raise Ask where more would have gone in than a feed of the plan is."""
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
