"""How much to pour: what may hang within its limit, or what is left of the feed, and the line's filling."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from assistant.gather._bag import DRY, GIVEN, primed
from assistant.gather._bag_size import bag_told
from assistant.gather._by_its_start import due_now
from assistant.gather._shared import FINISH, RATE, START, feed, rate, said_volume, step_rate, volume_of, which_feed
from assistant.gather._when import ends_after, now, planned_start, start
from assistant.gather.discard_at import hanging_limit
from assistant.household.care_plan import Feed
from assistant.message import Reading
from assistant.night import feed_rate, feed_time
from assistant.numbers.wants import Ask, Used, Want
from assistant.slots import Slots
from rules.calculators.pour import pour
from rules.clock import before, between
from rules.feed_state import FeedState
from rules.quantity import Quantity, is_amount

FURTHER = (  # another fill of a feed that is on: its line is full
    r"(?:second|third|other|last|next) (?:fill(?:ing)?|bag|one|lot|half|batch|pour|part|go|load|refill"
    r"|top[- ]up|time|round)",
    r"first (?:fill|bag|one|lot|half|batch|pour)(?:'?s| is| has| have| was| don)? (?:\w+ )?"
    r"(?:finish\w*|done|gone|empty|in|through|over|ran|run|went|down)",
)

OF_A_BAG = (r"bags?", r"hang\w*", r"(?:set|line|tubing)", r"first fill\w*")

TWICE = 2  # fills
FOR_NOW = (
    r"(?:fill|pour|load|mak|prepar|measur|set|gett|tipp|sort)\w*ing (?:\w+ ){0,5}(?:now|ready|up)",
    r"(?:fill|pour|load|tipp)(?:ing|in'?) (?:the|a|his|her|my|this|up|it)\b",
    r"(?:right )?now",
)


def _hung_in_a_bag(slots: Slots) -> Feed | None:
    """The one feed of the plan that is not given by syringe, of tonight's where tonight is spoken of; else None."""
    night = slots.night
    if night.feeds_named(slots.said.heard.text):
        return None
    hung = [f for f in night.feeds if f.method != "syringe"]
    tonight = [f for f in night.tonight(slots.said.heard.text) if f in hung]
    pumped = [f for f in tonight if f.method == "pump"]
    fits = pumped or tonight or hung
    if len(fits) != 1 or volume_of(slots, fits[0]) is None:
        return None
    slots.night = replace(night, talked_of=fits[0].name)  # its rate and its hour as well
    return fits[0]


def gather(slots: Slots) -> Mapping[str, Any]:
    bag_told(slots)
    slots.assign(
        rate=RATE,
        over=Want("time", ("over",), bare=False, shy=0.05),
        limit=Want("time", ("limit",), bare=False, shy=0.1),
        volume=Want("volume", ("total", "left")),
        given=GIVEN,
        bag=Want("volume", ("bag",), shy=0.2, told=True),
        priming=Want("volume", ("priming",), told=True),
        start=START,
        finish=FINISH,
    )
    _a_bare_end(slots)
    _in_already(slots)
    of = feed(slots, by_pump="given" in slots.spoken)  # it is fills of a bag that go in one after the other
    of = _hung_in_a_bag(slots) if of is None and slots.said.has(*OF_A_BAG) else of
    of = _due(slots) if of is None and slots.said.has(*FOR_NOW) else of
    plan, state = slots.night.plan, slots.night.state
    wanted = said_volume(slots, of)
    runs_for = _runs_for(slots)
    left = wanted if slots.get("given") is None else _after_what_went_in(slots, wanted, of)
    if left is None and runs_for is None:
        if state is not None and (state.running or _ran_dry(state)) and state.left:
            left = slots.fill("feed_left", state.left, "feed log")
        else:
            left = slots.fill("feed_left", volume_of(slots, of), "care plan")
    by_plan = "feed_left" in slots.used and slots.used["feed_left"].origin == "care plan"
    needs_rate = wanted is None and (of is None or of.method == "pump" or runs_for is not None or slots.has("rate"))
    runs_at = rate(slots)
    if runs_at is None and needs_rate:
        raise which_feed(slots, "rate") if of is None else Ask("rate")
    if slots.said.has(*FURTHER) and "priming" in slots.carried and slots.carried["priming"].origin != "question":
        slots.carried.pop("priming")  # of the first fill
    # what has fed through has filled the line
    line, on_already = slots.get("priming"), slots.has("given") or _by_the_log(slots)
    dry = slots.said.has(*DRY)  # whatever has gone in before
    by_pump = of is None or of.method == "pump"  # the plan's priming volume is the pump set's
    full = primed(slots) or (on_already and not dry) or slots.said.has(*FURTHER)
    if line is None and plan is not None and (by_pump or dry) and not full:
        line = slots.fill("priming", plan.equipment.priming_volume, "care plan")
    bag = slots.get("bag")
    if bag is None and plan is not None:
        bag = slots.fill("bag", plan.equipment.bag, "care plan")
    limit, sources = hanging_limit(slots)
    if runs_for is not None and runs_at is not None:
        left = slots.fill("feed_left", (runs_at * runs_for).to("mL"), "question")
    elif left is None and runs_at is not None and of is not None and feed_time(of) is None:
        left = None
    if left is not None and by_plan and slots.said.has(FURTHER[0]):
        left = _after_the_first(slots, left, runs_at, limit, bag)
    return {
        "rate": runs_at,
        "hang_limit": limit,
        "feed_left": left,
        "priming": line,
        "bag": bag,
        "sources": ("arithmetic", *sources),
    }


def _due(slots: Slots) -> Feed | None:
    """The feed that is due, where it is being poured and none was named: it is said back, with its rate."""
    of = due_now(slots)
    if of is None:
        return None
    slots.fill("feed", of.name, "care plan")
    if slots.get("rate") is None:
        stepped = step_rate(slots) if of.method == "pump" else None
        slots.fill("rate", stepped or feed_rate(of), "care plan")
    return of


def _ran_dry(state: FeedState) -> bool:
    """Did the feed of the log come to rest because its bag was empty, and nobody has ended it?"""
    return state.stopped_at is not None and "bag_empty" in state.notes and "limit_reached" not in state.notes


def _by_the_log(slots: Slots) -> bool:
    """Is this a further fill of the feed that the log has as on? Its line is full, unless a dry set is named."""
    from_log = "feed_left" in slots.used and slots.used["feed_left"].origin == "feed log"
    return from_log and not slots.said.has(*DRY)


TO_GET_TO = re.compile(r"\b(?:get|last|see|make it|through|go|do|hold|run)(?: \w+){0,3} (?:to|till?|until)$")


ALREADY = re.compile(
    r"(?:mls? |mils? )?(?:is |are |was )?(?:in (?:it|there|the bag|\w+ \w+ bag|\w+ bag) )?"
    r"(?:already|still in (?:it|there|the bag))\b"
)


def _in_already(slots: Slots) -> None:
    """ "400 already in the bag, how much more?": not what is to be poured; what it leaves to pour is asked about."""
    spoken = slots.spoken.get("volume")
    more = slots.said.has(r"how (?:much|many) (?:more|extra)", r"what more")
    if spoken is not None and more and ALREADY.match(spoken.after):
        raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)


def _a_bare_end(slots: Slots) -> None:
    """ "How much in the bag to get to 4?": an hour that is said bare is the end."""
    for spoken in slots.unused() if "finish" not in slots.used else ():
        bare = spoken.amount.readings[0]
        if bare.kind == "number" and bare.value in range(1, 13) and TO_GET_TO.search(spoken.before):
            slots.spoken["finish"] = spoken
            slots.used["finish"] = Used(Reading("clock", int(bare.value) * 60, "12h"), "question", spoken.amount.text)
            return


def _after_what_went_in(slots: Slots, whole: Quantity | None, of: Feed | None) -> Quantity:
    """ "The first fill is through, 240 is in": the feed, or the whole that was said, less what has gone in."""
    given = slots.used["given"].value
    whole = slots.fill("total", volume_of(slots, of), "care plan") if whole is None else whole
    if whole is None:
        raise which_feed(slots)
    if given >= whole:
        raise Ask("which_number", code="unclaimed", numbers=slots.used["given"].words)
    left: Quantity = slots.fill("feed_left", (whole - given).to("mL"), "question")
    return left


def _after_the_first(
    slots: Slots, whole: Quantity, runs_at: Quantity | None, limit: Quantity, bag: Quantity | None
) -> Quantity:
    """ "And for the second lot, how much then?": the feed less what the first fill, on a dry set, gives of it.

    What is left after more fills than that, or of one that was enough, hangs on what was poured: it is asked.
    """
    plan = slots.night.plan
    line = plan.equipment.priming_volume if plan is not None else None
    first = pour(rate=runs_at, hang_limit=limit, feed_left=whole, priming=line, bag=bag).figures
    fills, poured = first["fills"].value, first["pour"].value
    if not is_amount(fills) or not is_amount(poured) or fills.magnitude < TWICE:
        raise Ask("volume")
    gone: Quantity = poured if line is None else (poured - line).to("mL")
    alike = whole.to("mL").magnitude % gone.to("mL").magnitude == 0  # whichever fill is meant, it is as large
    if fills.magnitude > TWICE and not alike and not slots.said.has(r"second"):
        raise Ask("volume")
    slots.used["first_fill"] = Used(poured, "care plan")
    slots.used["feed_left"] = Used((whole - gone).to("mL"), "care plan")
    return (whole - gone).to("mL")


def _runs_for(slots: Slots) -> Any:
    over = slots.get("over")
    if over is not None:
        return over
    begins = (start(slots, when="future") if slots.has("start") else None) or _from(slots)
    ends = ends_after(slots, "finish", begins)
    return slots.fill("over", between(begins, ends), "question") if ends is not None else None


def _from(slots: Slots) -> datetime:
    """Where only the end is said, it is poured for now, or for the feed that the plan has yet to start before then."""
    of, finish = feed(slots), slots.get("finish")
    begins = planned_start(slots, of) if of is not None else None
    if begins is None or finish is None or not before(now(slots), begins):
        return now(slots)
    ends = ends_after(slots, "finish", now(slots))
    if ends is None or not before(begins, ends):
        return now(slots)
    slots.fill("start", begins, "care plan")
    return begins
