"""When a feed ends: its start, and how long it runs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from assistant.gather._amount_and_time import TO_GO, feed_in_that_time, one_too_many
from assistant.gather._bag import GIVEN, given_so_far, left_by_log, new_closed_bag, priming, share_gone
from assistant.gather._counts import poured
from assistant.gather._left_now import counts_from_now
from assistant.gather._ordered import ordered_then, planned
from assistant.gather._pause_known import by_the_log
from assistant.gather._pauses import no_part, off_before, time_off
from assistant.gather._relative import by_so_much
from assistant.gather._restart import left_when_back_on
from assistant.gather._shared import (
    FINISH,
    LEFT,
    NOW,
    OVER,
    RATE,
    START,
    accuracy,
    feed,
    on_by_the_plan,
    rate,
    said_volume,
    volume_of,
    which_feed,
)
from assistant.gather._told_beside import began_before, since_later
from assistant.gather._when import ends_after, no_pause, now, start
from assistant.hear.clock import resolve
from assistant.household.care_plan import CarePlan, Feed
from assistant.message import Reading
from assistant.night import feed_time
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.numbers.weighed_roles import WHOLE
from assistant.slots import Slots
from rules.clock import before, later
from rules.quantity import Quantity, qty


def _next_one(slots: Slots) -> Mapping[str, Any]:
    """ "The last was at one thirty, they're every three hours": the next one is that much later."""
    slots.assign(start=Want("clock", ("last_done", "start", "opened")))
    last = slots.instant("start", "past")
    if last is None:
        raise Ask("last")
    slots.remarks.append("interval")
    return {"start": last, "over": slots.get("every")}


LONGEST = qty(48, "h")
NIGHT_AFTER = (r"(?:night|day|one) after(?: that)?", r"next (?:night|day)", r"the following (?:night|day)")


AS_PLANNED = (
    r"(?:usual|normal|proper|regular|ordered|planned|scheduled|right|plan'?s) time",
    r"(?:at the )?time (?:it|he|she|that) ?(?:'s|is|was)? (?:meant|supposed|due|ordered|planned|written)",
    r"as (?:planned|ordered|written|usual)",
    r"(?:usual|normal|regular|ordinary|standard|planned|proper) (?:start|starting|hour|schedule)",
    r"when (?:it|he|she|that) (?:should|ought to)(?: be)?",
    "when (?:it|he|she) (?:normally|usually|always) (?:starts|goes on)",
)


def _same_time_another_day(slots: Slots) -> datetime | None:
    """ "Same for tomorrow", "and the night after that": the start of before, on that day."""
    if slots.said.has(*AS_PLANNED) and not slots.has("start"):
        slots.carried.pop("start", None)
    before = slots.carried.get("start")
    if before is None or slots.has("start") or not isinstance(before.value, datetime):
        return None
    day = slots.day()
    if slots.said.has(*NIGHT_AFTER):
        moved = before.value + timedelta(days=1)  # the same wall-clock time: local arithmetic
    elif day is not None and day not in ("today", "tonight"):
        reading = Reading("clock", before.value.hour * 60 + before.value.minute, "24h")
        moved = resolve(reading, slots.night.now, "nearest", day)[0]
    else:
        return None
    slots.used["start"] = Used(moved, "question")
    return moved


def _late(slots: Slots) -> Quantity | None:
    """ "Went on 20 minutes late": how much later than by the plan, where no start is said; never how long it runs."""
    for spoken in slots.said.spoken:
        reading = spoken.reading("time")
        if reading is not None and (spoken.after.startswith("late") or spoken.roles.get("late", 0.0) >= WHOLE):
            slots.spoken["late"] = spoken
            slots.used["late"] = Used(measure("time", reading, slots.night), "question", spoken.amount.text)
            found: Quantity = slots.used["late"].value
            return found
    return None


def _stepped(plan: CarePlan | None, begins: datetime) -> bool:
    """Does an ordered step come while it runs? What a pause does to it is not worked out."""
    return plan is not None and any(before(begins, s.start) and before(s.start, later(begins, LONGEST))
                                    for s in plan.steps)


def _to_end_that_day(
    slots: Slots, begins: datetime | None, over: Quantity | None, volume: Quantity | None, runs_at: Quantity | None
) -> datetime:
    """ "What time is he done tomorrow?": the start as said or planned, of the run that ends on that day."""
    if begins is None:
        raise Ask("start")
    day = slots.day_of_end()
    fixed = slots.day("start") is not None or slots.used["start"].origin in ("clock", "feed log")
    if day in (None, "today", "tonight") or fixed:
        return begins
    length = over
    if length is None and volume is not None and runs_at is not None:
        length = (volume / runs_at).to("h")
    if length is None:
        return begins
    for days in (0, 1, -1):
        moved = begins + timedelta(days=days)  # the same wall-clock time: local arithmetic
        ends = later(moved, length)
        reading = Reading("clock", ends.hour * 60 + ends.minute, "24h")
        if resolve(reading, slots.night.now, "nearest", day)[0].date() == ends.date():
            return moved
    return begins


IN_IT = (r"in (?:it|there|the (?:bag|bottle|container|pouch|syringe))", r"left", r"remaining", r"still to go")


def _holds_now(slots: Slots) -> None:
    """ "In it is 248", after the end by the plan was told: that much hangs now, whenever the run began."""
    begun = slots.carried.get("start")
    if begun is not None and begun.origin == "care plan" and "volume" in slots.spoken and slots.said.has(*IN_IT):
        slots.carried.pop("start")


def _from_now(slots: Slots) -> datetime | None:
    """ "4 hours left on it, done when?": the time that was said counts from now."""
    over = slots.spoken.get("over")
    if over is None or not TO_GO.match(over.after):
        return None
    begins: datetime = slots.fill("start", now(slots), "clock")
    return begins


def _begun_or_planned(
    slots: Slots, of: Feed | None, volume: Quantity | None, late: Quantity | None
) -> datetime | None:
    """The start where none is said: now for what is left, the log's for a time that was told, else the plan's."""
    begins, state = _from_now(slots), slots.night.state
    on = state is not None and state.running and (of is None or state.feed in (None, of.name))
    if begins is None and "over" in slots.spoken and on and state is not None:
        begins = slots.fill("start", state.started, "feed log")  # "it runs over 40 minutes": from when it began
    if begins is not None:
        return begins
    if volume is not None and slots.used["volume"].origin == "question":
        begins = slots.fill("start", now(slots), "clock")  # "500 in it at 60, when is it done?"
    elif of is not None:
        begins = planned(slots, of, late)
    return begins


def _counted(slots: Slots, off: Quantity | None, begins: datetime) -> Quantity | None:
    """The pause told, where it is one of the run that is counted."""
    if "case" in slots.carried:
        return off
    if off is not None and (slots.used["start"].origin in ("clock", "feed log") or _stepped(slots.night.plan, begins)):
        no_part(slots)
        return None
    return off


def _in_time(slots: Slots, begins: datetime, length: Quantity | None) -> None:
    """ "Will it all be in by eight?": the end, held against that hour."""
    spoken = slots.spoken.get("finish")
    if spoken is None or length is None or not spoken.before.endswith(("by", "before")):
        return
    by = ends_after(slots, "finish", now(slots))
    if by is not None:
        slots.remarks.append("not_in_time" if before(by, later(begins, length)) else "in_time")


def gather(slots: Slots) -> Mapping[str, Any]:
    slots.assign(every=Want("time", ("every",), bare=False, told=True))
    if slots.has("every"):
        return _next_one(slots)
    off, late = by_the_log(slots, time_off(slots)), _late(slots)
    slots.assign(
        volume=LEFT, given=GIVEN, rate=RATE, start=START, now=NOW, over=OVER, finish=replace(FINISH, shy=0.15)
    )
    _holds_now(slots)
    by_so_much(slots)
    no_pause(slots, "over")
    feed_in_that_time(slots)
    one_too_many(slots)
    share_gone(slots)
    of = feed(slots) or (on_by_the_plan(slots) if slots.night.state is None else None)
    state = slots.night.state
    over, volume = slots.get("over"), poured(slots) or given_so_far(slots, of) or said_volume(slots, of)
    volume = new_closed_bag(slots, of) if volume is None and over is None else volume
    begins = _same_time_another_day(slots) or counts_from_now(slots, start(slots, when="nearest"))
    begins = None if began_before(slots, begins) else begins
    since_later(slots, begins, whole=over is None and volume is None)
    if over is None and volume is None and begins is not None:
        volume = left_when_back_on(slots, begins, of)
    of_now = ("last night", "yesterday") if state is not None and state.running else ()
    now_on = slots.day() in (None, "today", "tonight", *of_now)
    running = state is not None and state.started is not None and begins is None and now_on
    if over is None and volume is None and running and state is not None and state.left is not None:
        volume = left_by_log(slots)
        begins = slots.fill("start", now(slots), "clock")
    elif over is None and volume is None and of is not None:
        if of.method == "syringe" or (slots.get("rate") is None and of.rate is None):
            over = slots.fill("over", feed_time(of), "care plan")
        else:
            volume = slots.fill("volume", volume_of(slots, of), "care plan")
    if over is None and volume is None:
        raise which_feed(slots)
    runs_at = None if over is not None else rate(slots)
    if over is None and runs_at is None:
        raise Ask("rate")
    if begins is not None:
        slots.used.pop("late", None)  # the start that was said holds it already
    begins = _begun_or_planned(slots, of, volume, late) if begins is None else begins
    begins = _to_end_that_day(slots, begins, over, volume, runs_at)
    slots.used["start"] = Used(begins, slots.used["start"].origin, slots.used["start"].words)
    plan = slots.night.plan
    runs_at = ordered_then(slots, of, runs_at, begins)
    off = _counted(slots, off_before(slots) if off is None else off, begins)
    _in_time(slots, begins, over or (None if volume is None or runs_at is None else (volume / runs_at).to("h")))
    by_plan = "rate" in slots.used and slots.used["rate"].origin == "care plan"
    return {
        "start": begins, "volume": volume, "rate": runs_at,
        "over": over,
        "paused": off,
        "priming": priming(slots),
        "steps": plan.ordered_steps if plan is not None and by_plan else (),
        "accuracy": accuracy(slots) if over is None else None,
    }
