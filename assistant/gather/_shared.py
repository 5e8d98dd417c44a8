"""What several questions look for in the same way: the feed meant, its rate, what hangs, when it started."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from assistant.hear.clock import resolve
from assistant.household.care_plan import Feed
from assistant.message import Reading
from assistant.night import feed_rate, feed_time, feed_volume
from assistant.slots import Ask, Slots, Used, Want
from rules.clock import before, later
from rules.quantity import Quantity, qty
from rules.slip import slip

RATE = Want("rate", ("rate",))
LEFT = Want("volume", ("left", "hung", "total"))
START = Want("clock", ("start",))
FINISH = Want("clock", ("finish",))
NOW = Want("clock", ("clock_now",))
OVER = Want("time", ("over",), bare=False)
AGO = Want("time", ("ago",), bare=False, shy=0.4)

NOT_USUAL = (
    r"n[o']t the usual",
    r"isn't the usual",
    r"different rate",
    r"not the normal",
    r"other rate",
    r"new rate tonight",
)
SAID_AGAIN = frozenset({"digit_swap", "swapped", "other"})  # believed when said again; ten times the order never is
JUST_NOW = (
    r"just (?:now )?(?:started|hung|put|connected|hooked|gone|turned|set)",
    r"starting now",
    r"start(?:ed)? now",
    r"right now",
    r"from now",
    r"starting it now",
    r"going up now",
    r"hanging now",
    r"this minute",
)


def feed(slots: Slots) -> Feed | None:
    """The feed meant; where none is named and a rate or the pump is spoken of, the one feed that is by pump."""
    found = slots.night.feed_for(slots.said.heard.text)
    if found is None and ("rate" in slots.spoken or slots.said.has("pump")):
        pumped = [f for f in slots.night.feeds if f.method == "pump"]
        if len(pumped) == 1 and not slots.night.feeds_named(slots.said.heard.text):
            return pumped[0]
    return found


def one_feed(slots: Slots) -> Feed:
    """The feed meant, or the question which one."""
    found = feed(slots)
    if found is None:
        if not slots.night.feeds:
            raise Ask("volume")
        raise Ask("which_feed", names=[f.name for f in slots.night.feeds])
    return found


def rate(slots: Slots, *, may_be_plan: bool = True) -> Quantity | None:
    """The rate said; else the one that runs by the log; else the feed's ordered one, unless the words rule that out."""
    said = slots.get("rate")
    if said is not None:
        check_entry(slots, "rate", said, ordered_rate(slots))
        _outside_limits(slots, said)
        return said
    if slots.said.has(*NOT_USUAL):
        return None
    state = slots.night.state
    if state is not None and state.running and state.rate is not None:
        return slots.fill("rate", state.rate, "feed log")
    stepped = step_rate(slots)
    if stepped is not None:
        return slots.fill("rate", stepped, "care plan")
    found = feed(slots)
    if may_be_plan and found is not None:
        return slots.fill("rate", feed_rate(found), "care plan")
    return None


def _outside_limits(slots: Slots, said: Quantity) -> None:
    """A rate said that the plan's limits do not hold: counted with, but they are quoted and the care team is named."""
    of, bounds = feed(slots), limits(slots)
    low, high = bounds["lowest"], bounds["highest"]
    if slots.used["rate"].origin != "question" or (of is not None and of.method != "pump"):
        return
    if (low is not None and said < low) or (high is not None and said > high):
        slots.fill("lowest_rate", low, "care plan")
        slots.fill("highest_rate", high, "care plan")
        slots.remarks.append("outside_plan_limits")
        slots.defers = True


def step_rate(slots: Slots) -> Quantity | None:
    """The ordered step that is on now, where the care team wrote an increase. It is for feeds by pump alone."""
    plan, of = slots.night.plan, feed(slots)
    if plan is None or not any(f.method == "pump" for f in ((of,) if of is not None else plan.feeds)):
        return None
    begun = [s for s in plan.steps if s.start <= slots.night.now]
    return begun[-1].rate if begun else None


def ordered_rate(slots: Slots) -> Quantity | None:
    stepped = step_rate(slots)
    if stepped is not None:
        return stepped
    found = feed(slots)
    return feed_rate(found) if found else None


def check_entry(slots: Slots, name: str, said: Quantity, planned: Quantity | None, **limits: Any) -> None:
    """A slipped number is questioned before anything is computed from it."""
    if slots.used[name].origin != "question":
        return
    plan = slots.night.plan
    highest = plan.equipment.pump_highest_rate if plan and name == "rate" else None
    lowest = plan.limits.lowest_rate if plan and name == "rate" else None
    ceiling = plan.limits.highest_rate if plan and name == "rate" else None
    if lowest is not None and ceiling is not None and lowest <= said <= ceiling:
        return
    if name == "volume" and slots.night.feeds and plan is not None:
        most = [x for x in (plan.equipment.bag, *(feed_volume(f) for f in slots.night.feeds)) if x is not None]
        if most and said > max(most) * 2 and said != planned and not (planned is not None and slip(said, planned)):
            raise Ask("which_number", code="too_much", slot=name, said=said, most=max(most))
    code = slip(said, planned, kit_highest=highest) if planned is not None or highest is not None else None
    if code and not (slots.confirmed and code in SAID_AGAIN):
        factor = (said / planned).to("").magnitude if planned is not None and planned.magnitude else None
        raise Ask("which_number", code="slip_" + code, slot=name, said=said, planned=planned, factor=factor, slip=code)


def share_gone(slots: Slots) -> None:
    """ "The litre bag is half gone": what is left is the rest of it."""
    spoken = slots.spoken.get("volume")
    if spoken is None or spoken.amount.readings[0].kind not in ("share", "percent"):
        return
    reading = spoken.amount.readings[0]
    part = reading.value / (100 if reading.kind == "percent" else 1)
    whole = next(
        (
            qty(r.value, r.unit)
            for s in slots.said.spoken
            for r in s.amount.readings
            if r.kind == "volume" and s.roles.get("bag", 0) > 0.4
        ),
        None,
    )
    from assistant.slots import size_of

    whole = whole if whole is not None else size_of(reading.unit or "bag", slots.night)
    if whole is None:
        raise Ask("volume")
    gone = any(spoken.after.startswith(w) for w in ("gone", "empty", "used", "finished", "through", "down"))
    slots.used["volume"] = Used((whole * (1 - part if gone else part)).to("mL"), "question", spoken.amount.text)


def priming(slots: Slots) -> Quantity | None:
    """The priming volume to take off: only for what was hung or poured fresh on a dry set."""
    plan = slots.night.plan
    spoken = slots.spoken.get("volume")
    if plan is None or plan.equipment.priming_volume is None or spoken is None:
        return None
    if slots.said.has("primed", "already primed", "wet set", "after priming"):
        return None
    fresh = max(spoken.roles.get("hung", 0.0) - spoken.roles.get("left", 0.0), 0.0)
    if fresh > 0.3 or slots.said.has("dry set", "dry tubing", "dry line", "fresh set", "new set"):
        slots.fill("priming_volume", plan.equipment.priming_volume, "care plan")
        return plan.equipment.priming_volume
    return None


def start(slots: Slots, *, when: str = "nearest") -> datetime | None:
    """The start said; "just started" and "starting now" are now."""
    found = slots.instant("start", when)
    if found is None and slots.said.has(*JUST_NOW):
        return slots.fill("start", now(slots), "clock")
    return found


def now(slots: Slots) -> datetime:
    """The present instant: the clock's, unless the speaker gives the time ("it's quarter to midnight now")."""
    reading = slots.used["now"].value if "now" in slots.used else None
    if isinstance(reading, Reading):
        found = resolve(reading, slots.night.now, "nearest", None)[0]
        slots.used["now"] = Used(found, "question", slots.used["now"].words)
        return found
    return slots.night.now


def planned_start(slots: Slots, of: Feed) -> datetime | None:
    """The plan's start of a feed: the run that is on by the plan, else the next one (or on the day named)."""
    if of.start is None:
        return None
    reading = Reading("clock", of.start.hour * 60 + of.start.minute, "24h")
    day = slots.day()
    present = slots.night.now
    if day:
        return resolve(reading, present, "nearest", day)[0]
    last = resolve(reading, present, "past", None)[0]
    length = feed_time(of)
    if length is not None and before(present, later(last, length)):
        return last
    return resolve(reading, present, "future", None)[0]


def volume_of(slots: Slots, of: Feed | None) -> Quantity | None:
    return feed_volume(of) if of else None


def accuracy(slots: Slots) -> Quantity | None:
    plan = slots.night.plan
    return plan.equipment.pump_accuracy if plan else None


def limits(slots: Slots) -> dict[str, Any]:
    plan = slots.night.plan
    if plan is None:
        return {"lowest": None, "highest": None, "family_may_change": False}
    return {
        "lowest": plan.limits.lowest_rate,
        "highest": plan.limits.highest_rate,
        "family_may_change": bool(plan.limits.family_may_change_rate),
    }
