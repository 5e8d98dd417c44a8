"""What several questions look for in the same way: the feed meant, its amount and its rate, held against the plan."""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from assistant.gather._by_its_numbers import PLAINLY, by_its_numbers
from assistant.gather._by_its_start import begun_now
from assistant.gather._when import STARTED_NOW
from assistant.household.care_plan import Feed
from assistant.night import feed_rate, feed_time, feed_volume
from assistant.numbers.wants import Ask, Want
from assistant.slots import Slots
from rules.quantity import Quantity
from rules.slip import slip
from rules.steps import rate_at

RATE = Want("rate", ("rate",))
LEFT = Want("volume", ("left", "hung", "total"))
START = Want("clock", ("start",))
FINISH = Want("clock", ("finish",))
NOW = Want("clock", ("clock_now",))
OVER = Want("time", ("over",), bare=False)
AGO = Want("time", ("ago",), bare=False, shy=0.4)

NOT_USUAL = (
    r"(?:n[o']t|isn'?t|wasn'?t) (?:at |on )?(?:the|his|her|my|its|their) (?:usual|normal|ordinary|regular|same)",
    r"(?:something|a bit|somewhat) (?:lower|higher|slower|faster|less|more) than",
    r"isn't the usual", r"new rate tonight",
    r"(?:different|other|another|new|changed|some other|unusual) (?:rate|speed|flow|setting)",
    r"(?:rate|speed|setting)(?:'s| is| was| has been| got)? (?:different|changed|not the usual|another one)",
)
SAID_AGAIN = frozenset({"digit_swap", "swapped", "other"})  # believed when said again; ten times the order never is


def feed(slots: Slots, *, by_pump: bool = False) -> Feed | None:
    """The feed meant; where none is named and a rate or the pump is spoken of, the one feed that is by pump."""
    found = slots.night.feed_for(slots.said.heard.text)
    if found is None and (found := by_its_numbers(slots)) is not None:
        slots.feed_meant = found.name
    if found is None and slots.said.has(*STARTED_NOW) and (found := begun_now(slots)) is not None:
        slots.feed_meant = found.name
    of_a_pump = by_pump or slots.said.has(r"(?:pump|screen|display|machine|readout)(?:'?s)?")
    other = found is not None and found.method != "pump" and of_a_pump  # the syringe feed that was talked of before
    runs = "rate" in slots.spoken or "rate" in slots.carried
    if other or (found is None and (of_a_pump or runs)):
        pumped = [f for f in slots.night.feeds if f.method == "pump"]
        if len(pumped) == 1 and not slots.night.feeds_named(slots.said.heard.text):
            return pumped[0]
    return found


def which_feed(slots: Slots, otherwise: str = "volume") -> Ask:
    """The question which of several feeds is meant; where there is no choice, the question for the value itself."""
    return Ask("which_feed" if len(slots.night.feeds) > 1 else otherwise, names=[f.name for f in slots.night.feeds])


def said_volume(slots: Slots, of: Feed | None) -> Quantity | None:
    """The amount said, once it is sure that it is no slip of the feed's."""
    said = slots.get("volume")
    if said is not None:
        check_entry(slots, "volume", said, volume_of(slots, of))
    return said


def rate(slots: Slots, *, may_be_plan: bool = True) -> Quantity | None:
    """The rate said; else the one that runs by the log; else the feed's ordered one, unless the words rule that out."""
    if "rate" not in slots.spoken and slots.said.has(*BACK_TO_IT):
        slots.carried.pop("rate", None)
    said = slots.get("rate")
    told = slots.spoken.get("rate")
    if told is not None and told.reading("rate") is None and said != ordered_rate(slots) and slots.said.has(*AS_USUAL):
        raise Ask("which_number", code="unclaimed", numbers=told.amount.text)  # "at the usual speed ... at 71": an age?
    if said is not None:
        check_entry(slots, "rate", said, ordered_rate(slots))
        _hardly_a_rate(slots, said)
        _outside_limits(slots, said)
        return said
    if slots.said.has(*NOT_USUAL):
        return None
    state = slots.night.state
    on = state is not None and (state.running or state.paused_since is not None)
    if state is not None and on and state.rate is not None:
        return slots.fill("rate", state.rate, "feed log")
    stepped = step_rate(slots)
    if stepped is not None:
        return slots.fill("rate", stepped, "care plan")
    found = feed(slots, by_pump=slots.said.has(*AS_USUAL))
    by_hand = found is not None and found.method == "syringe" and not slots.night.feeds_named(slots.said.heard.text)
    if found is None or by_hand:  # an amount like a syringe feed's, while the pump's feed is on: of what hangs
        found = on_by_the_plan(slots) or found
    if may_be_plan and found is not None:
        return slots.fill("rate", feed_rate(found), "care plan")
    return None


def on_by_the_plan(slots: Slots) -> Feed | None:
    """The one feed by pump that is ordered to run at this hour, where no feed is named."""
    if slots.night.feeds_named(slots.said.heard.text):
        return None
    pumped = [f for f in slots.night.feeds if f.method == "pump"]
    hangs = "volume" in slots.carried or slots.said.has(*HANGS_NOW)
    on = [f for f in pumped if _in_its_hours(f, slots.night.now)]
    return on[0] if len(on) == 1 and (len(pumped) == 1 or hangs) else None


HANGS_NOW = ("left", "still", "to go", "remaining", "hanging", "in (?:it|there)", r"in (?:\w+'s|the|his|her|my) bag")


def _in_its_hours(of: Feed, now: datetime) -> bool:
    length = feed_time(of)
    if length is None or of.start is None:
        return False
    gone = (now.hour * 60 + now.minute - of.start.hour * 60 - of.start.minute) % 1440
    return bool(gone <= length.m_as("min"))


_ORDINARY = r"(?:usual|normal|ordinary|regular|ordered|planned|prescribed|standard|everyday)"
AS_USUAL = (  # the rate is told to be the ordered one
    rf"(?:at|on|his|her|my|the|its|their|our|same|plan'?s) {_ORDINARY}(?! (?:amount|time|volume|dose|bag|carton))",
    rf"{_ORDINARY} (?:\w+ )?(?:rate|speed|flow|setting|pace|numbers?|figures?)",
    r"(?:same|like|as) (?:\w+ )?(?:always|ever|usual|normal|other nights?|every night|written|ordered)",
    r"(?:what|where) (?:it|he|she|the pump)(?:'s|s| is)? (?:always|normally|usually|meant|supposed)",
)


#: "put it back to the right one": what was told of it before counts no longer
BACK_TO_IT = (
    rf"back (?:to|on|at|onto)(?: \w+)? (?:{_ORDINARY}|right|proper|correct) (?:one|rate|speed|setting|number)",
)


FAR = 2  # times beyond the plan's lowest or highest rate: a bare number is hardly a rate


def _hardly_a_rate(slots: Slots, said: Quantity) -> None:
    """ "It went up at 8": a number without a unit, far from every rate of the plan, is asked about."""
    spoken, bounds = slots.spoken.get("rate"), limits(slots)
    if (
        spoken is None
        or slots.confirmed or slots.as_it_ran
        or spoken.amount.readings[0].kind == "rate"
        or slots.used["rate"].value != said
    ):
        return
    rates = [r for f in slots.night.feeds if f.method == "pump" and (r := feed_rate(f)) is not None]
    low, high = (
        bounds[n] if bounds[n] is not None else x
        for n, x in (("lowest", min(rates, default=None)), ("highest", max(rates, default=None)))
    )
    if (low is not None and said * FAR < low) or (high is not None and said > high * FAR):
        raise Ask("which_number", code="unclaimed", slot="rate", numbers=spoken.amount.text)


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
    elif _put_as_a_case(slots) and not bounds["family_may_change"] and (ordered := ordered_rate(slots)) not in (
            None, said):
        slots.fill("ordered_rate", ordered, "care plan")
        slots.remarks.append("not_the_ordered_rate")
        slots.defers = True


def _put_as_a_case(slots: Slots) -> bool:
    """ "And at 56?" after a sum at another rate: what another would mean, and whose it is to say."""
    before = slots.said.heard.text[:40].lower()
    return "volume" in slots.carried and "rate" in slots.spoken and bool(A_CASE.match(before))


A_CASE = re.compile(
    r"\W*(?:(?:ok|okay|so|then|now) )*(?:and |or |what )*(?:if |about |at |how about |what about |for )+"
    r"(?!it'?s (?:on|at|running))"
)


def step_rate(slots: Slots) -> Quantity | None:
    """The ordered step that is on now, where the care team wrote an increase. It is for feeds by pump alone."""
    plan, of = slots.night.plan, feed(slots)
    if plan is None or not any(f.method == "pump" for f in ((of,) if of is not None else plan.feeds)):
        return None
    return rate_at(plan.ordered_steps, slots.night.now)


def ordered_rate(slots: Slots, *, by_pump: bool = False) -> Quantity | None:
    stepped = step_rate(slots)
    if stepped is not None:
        return stepped
    found = feed(slots, by_pump=by_pump)
    if found is not None and found.method == "syringe":
        return None  # pushed by hand: no pump's rate is held against it
    return feed_rate(found) if found else None


def check_entry(slots: Slots, name: str, said: Quantity, planned: Quantity | None, **limits: Any) -> None:
    """A slipped number is questioned before anything is computed from it."""
    if slots.used[name].origin != "question" or slots.as_it_ran:
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
    if name == "volume" and code == "digit_swap" and _what_is_left(slots):
        return  # 270 is left of 720: a rest, and no order misread
    if code and not (slots.confirmed and code in SAID_AGAIN):
        factor = (said / planned).to("").magnitude if planned is not None and planned.magnitude else None
        raise Ask("which_number", code="slip_" + code, slot=name, said=said, planned=planned, factor=factor, slip=code)


def _what_is_left(slots: Slots) -> bool:
    spoken = slots.spoken.get("volume")
    roles = spoken.roles if spoken is not None else {}
    return roles.get("left", 0.0) >= PLAINLY and roles["left"] > max(roles.get("hung", 0.0), roles.get("total", 0.0))


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
