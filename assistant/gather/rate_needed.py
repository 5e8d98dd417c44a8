"""What rate gives an amount within a time: the sum only; the care team sets rates."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from assistant.gather._bag import left_by_log
from assistant.gather._by_departure import by_the_departure
from assistant.gather._counts import LEAST_BARE
from assistant.gather._shared import FINISH, NOW, OVER, START, feed, limits, ordered_rate, said_volume, volume_of
from assistant.gather._when import now, planned_start, start
from assistant.hear.clock import resolve
from assistant.household.care_plan import Feed
from assistant.message import Reading
from assistant.night import feed_time
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.slots import Slots
from rules.clock import before, between, later
from rules.quantity import qty


def span(slots: Slots) -> Any:
    """The time there is: said, or from now (or the start said) to the finish said."""
    over = slots.get("over")
    if over is not None:
        return over
    told = slots.get("finish")
    finish = slots.instant("finish", "future")
    if finish is None:
        return None
    if finish <= now(slots):
        raise Ask("finish")  # "at half eight", said at half eight
    begins = start(slots, when="nearest") if slots.get("start") is not None else None
    if begins is not None and isinstance(told, Reading) and told.unit == "12h":
        soonest = resolve(told, begins, "future", None)[0]  # "started 10.15, done at 7.15": the next one after it
        if begins < soonest < finish:
            finish = soonest
            slots.used["finish"] = replace(slots.used["finish"], value=finish)
    if begins is not None and begins < finish:
        return slots.fill("over", between(begins, finish), "question")
    slots.fill("now", now(slots), "clock")
    return slots.fill("over", between(now(slots), finish), "question")


def _beyond_the_pump(slots: Slots, amount: Any, over: Any) -> Any:
    """ "Unhooked by 9, going at 7:30 tonight": the other nine, where no pump gives that much in an hour and a half."""
    told = slots.spoken.get("finish")
    reading = told.reading("clock") if told is not None else None
    kit = slots.night.plan.equipment.pump_highest_rate if slots.night.plan is not None else None
    told_all = "start" in slots.spoken and reading is not None and reading.unit == "12h"
    if not told_all or kit is None or over is None or (amount / over).to("mL/h") <= kit:
        return over
    longer = (over + qty(12, "h")).to("h")
    ordered = ordered_rate(slots, by_pump=True)
    if ordered is None or (amount / longer).to("mL/h") > ordered * 2:
        return over
    slots.used["finish"] = replace(slots.used["finish"], value=later(slots.used["finish"].value, qty(12, "h")))
    slots.used["over"] = Used(longer, "question")
    return longer


def volume(slots: Slots, *, may_be_on: bool = True) -> Any:
    """The amount: said, or what is left by the log, or the whole feed (not where it `may_be_on` already: ask)."""
    of = feed(slots, by_pump=True)  # what rate: a pump's
    found = said_volume(slots, of)
    found = left_by_log(slots) if found is None else found
    told = slots.has("start") or "over" in slots.spoken
    if may_be_on and found is None and of is not None and not told and _is_on(slots, of):
        raise Ask("volume")  # the feed is on by the plan: what is left of it is not known
    return slots.fill("volume", volume_of(slots, of), "care plan") if found is None else found


def _the_one_number(slots: Slots) -> None:
    """ "420 tonight and it has to fit between 9 and 4": the one number that nothing else claims is the amount."""
    bare = [s for s in slots.unused() if s.amount.readings[0].kind == "number"]
    if "volume" in slots.spoken or "finish" not in slots.spoken or len(bare) != 1:
        return
    if bare[0].amount.readings[0].value >= LEAST_BARE and max(bare[0].roles.values(), default=0.0) < UNCLAIMED:
        slots.spoken["volume"] = bare[0]
        told = measure("volume", bare[0].amount.readings[0], slots.night)
        slots.used["volume"] = Used(told, "question", bare[0].amount.text, bare[0].amount.in_words)


UNCLAIMED = 0.5  # how strongly the words may speak for another part


def _is_on(slots: Slots, of: Feed) -> bool:
    """Is the feed running by the plan's hours, while the log says nothing of it?"""
    state, length, begins = slots.night.state, feed_time(of), planned_start(slots, of)
    if (state is not None and state.started is not None) or length is None or begins is None or slots.day():
        return False
    return before(begins, slots.night.now) and before(slots.night.now, later(begins, length))


def _from_another_hour(slots: Slots) -> None:
    """ "Back at 23:30, she is to be off by 5": an hour between now and the end may be the start: it is asked about.

    Not one that is plainly of something else.
    """
    end = slots.used.get("finish")
    if end is None or not isinstance(end.value, datetime) or slots.has("start") or "over" in slots.spoken:
        return
    for spoken in slots.unused():
        clock = spoken.reading("clock")
        if clock is None or max(spoken.roles.get("noise", 0.0), spoken.roles.get("event", 0.0)) > PLAINLY_OTHER:
            continue
        at = resolve(clock, now(slots), "future", None)[0]
        if before(now(slots), at) and before(at, end.value):
            raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)


PLAINLY_OTHER = 0.9


def gather(slots: Slots) -> Mapping[str, Any]:
    amount_told = Want("volume", ("total", "left", "hung", "at_a_feed"))
    slots.assign(volume=amount_told, over=OVER, finish=FINISH, start=START, now=NOW)
    by_the_departure(slots)
    _the_one_number(slots)
    over = span(slots)
    amount = volume(slots)
    if amount is None:
        raise Ask("volume")
    over = _beyond_the_pump(slots, amount, over)
    if over is None:
        raise Ask("over")
    _from_another_hour(slots)
    plan = slots.night.plan
    return {
        "volume": amount,
        "over": over,
        "ordered": ordered_rate(slots, by_pump=True),
        "pump_step": plan.equipment.pump_step if plan else None,
        **limits(slots),
    }
