"""When what hangs must be thrown away."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from assistant.gather._when import JUST_NOW, now
from assistant.hear.clock import resolve
from assistant.numbers.number_pairs import beside
from assistant.numbers.wants import Ask, Used, Want
from assistant.slots import Slots
from rules.clock import before, earlier, later
from rules.figures import feeding_set
from rules.hang_limit import clock_start, hang_limit
from rules.quantity import qty

TOLD = 0.5  # how plainly a time is said to be when it was opened or hung
TO_COME = ("if (?:i|we) (?:pour|open|hang|mix|make|start|put|spike)", r"(?:i|we)(?:'ll| will|'m going to| am going to)",
           "once (?:i|we)", "when (?:i|we) (?:pour|open|hang|mix|start)",
           r"(?:opening|hanging|pouring|spiking) (?:it |one |this |that )?(?:up )?at",
           r"(?:that|which) (?:i|we) (?:hang|pour|open|spike|put up)")
DONE = (  # told as done, whatever else is still to come
    r"(?<!if )(?<!once )(?<!when )(?:i|we|he|she|they|mum|mom|mam|dad|gran|nan|sister|brother|aunt|carer|nurse"
    r"|aide|sitter|wife|husband) (?:just )?(?:mixed|made|prepared|blended|poured|filled|opened|spiked|warmed|hung)"
)
ONLY_HUNG = (r"(?:gets?|got|is|was|be|been|only|went|goes|go|put|starts?|started) (?:up|on|going)", r"hung", r"hang")
MIXED = (r"mixed", r"made (?:it |this |that |the \w+ )?up", r"made", r"prepared", r"blended", r"mixing")
WARMED = (r"warmed", r"heated", r"out of the fridge", r"took out")
POURED = (r"poured", r"filled", r"tipped", r"decanted")
OPENED = (r"opened", r"spiked", r"cracked", r"seal", r"pierced", r"unsealed")


FORMS_SAID = (  # what is told to hang, where it is not the plan's formula
    ("fortified_milk", (r"fortified (?:breast ?|human )?milk", r"(?:breast ?|human )milk with fortifier")),
    ("human_milk", (r"(?:breast|mother'?s|mum'?s|mom'?s|human|donor|expressed) ?milk", "ebm", "dbm")),
    ("home_blend", (r"blend\w*", r"liquidi[sz]ed", r"pur[eé]ed?", r"home[- ]?made (?:feed|food|formula|dinner)")),
    ("powder", (r"powder\w*", r"from (?:the )?(?:tin|powder)")),
)


def _form_said(slots: Slots) -> str | None:
    """The kind of food that the words name."""
    return next((form for form, words in FORMS_SAID if slots.said.has(*words)), None)


def hanging_limit(slots: Slots) -> tuple[Any, tuple[str, ...]]:
    """The hang limit and its sources. What the caller says never beats the stricter of plan and published figure."""
    plan = slots.night.plan
    said = slots.get("limit")
    if plan is None:
        if said is None:
            raise Ask("limit")
        return said, ("arithmetic",)
    limits = [
        hang_limit(
            form=form,
            infant=slots.night.infant,
            weak_immunity=slots.night.noted("weak_immunity"),
            plan_limit=plan.limits.hang_time,
        )
        for form in dict.fromkeys((plan.formula.form, _form_said(slots) or plan.formula.form))
    ]
    limit = min(limits, key=lambda one: one.limit)
    slots.remarks.extend(r for r in limit.remarks if r not in slots.remarks)
    if said is not None and said <= limit.limit:
        return said, limit.sources
    if said is not None:
        slots.remarks.append("said_limit_too_long")
    slots.used["limit"] = Used(limit.limit, "care plan" if "plan_limit_used" in limit.remarks else "standard")
    return limit.limit, limit.sources


def started_from(slots: Slots) -> str:
    for kind, words in (("mixed", MIXED), ("warmed", WARMED), ("poured", POURED), ("opened", OPENED)):
        if slots.said.has(*words):
            return kind
    return "feed_started"


def _first(slots: Slots) -> datetime | None:
    """ "Mixed at half seven, hung at nine": the earlier of the times told counts."""
    told_before = slots.carried.get("opened")
    to_come = slots.said.has(*TO_COME) and not slots.said.has(DONE)
    when = ("nearest" if slots.said.has("instead") else "future") if to_come else "past"
    at = slots.instant("opened", when)
    of_a_set = "the_set" in slots.carried or slots.said.has(*THE_SET)
    another = slots.said.has(r"(?:an?|another|the next|a new|a fresh|one more) (?:bag|bottle|carton|can|pouch|one)")
    hung = slots.said.has(*ONLY_HUNG) and not another
    if told_before and at is not None and not of_a_set and hung and before(told_before.value, at):
        slots.used["opened"] = told_before  # "and if it only gets hung at eight?": it was mixed before that
        at = told_before.value
    for spoken in slots.unused() if at is not None else ():
        clock, noise = spoken.reading("clock"), spoken.roles.get("noise", 0.0)
        told = max(spoken.roles.get("opened", 0.0), spoken.roles.get("start", 0.0))
        if clock is None or told < TOLD or noise >= told:
            continue
        other = resolve(clock, slots.night.now, when, slots.day())[0]
        slots.spoken[f"told_{spoken.amount.start}"] = spoken
        if at is not None and before(other, at):
            at = other
            slots.used["opened"] = Used(at, "question", spoken.amount.text)
    return at


_STEM = r"(?:open|hang|mix|pour|fill|start|warm|spik|connect|crack|mak)"
_ACT = (
    rf"(?:(?!hanging)(?<!s )(?<!still )(?<!been )(?:re)?{_STEM}(?:ed|ing|e|s|ped)?|hung|made|began|begun|"
    r"(?:(?:i|we)(?:'m|'re| am| are)|^|just|now) hanging|"
    r"put(?:ting)?(?: \w+){0,2} (?:on|up|in)|set(?:ting)? (?:it |this )?(?:up|going))"
)
NOW_OF_AN_ACT = (
    rf"{_ACT}(?: \w+){{0,4}} (?:(?:just |right )?now|this (?:minute|second|moment))",
    rf"(?:just|right|only) (?:now )?{_ACT}", r"just \w+ed",
    rf"now (?:i|we)(?:'m| am|'re| are|'ve| have)? (?:just )?{_ACT}",
)


def _opened_now(slots: Slots) -> bool:
    """ "If I open it now", "just hung": the act is of this minute. What is "up now", "in the bag now" hangs already."""
    return slots.said.has(*NOW_OF_AN_ACT) or (slots.night.state is None and slots.said.has(*JUST_NOW))


WHAT_HANGS = (r"milk", r"feeds?", r"formula", r"bags?", r"bottles?", r"cartons?", r"cans?", r"what hangs", r"drip")
THE_SET = (
    r"(?:feeding|giving|pump|drip|gravity|tube|feed) (?:sets?|lines?|tubing)",
    r"(?:this|the|that|a|old) (?:new |fresh |clean )?(?:set|tubing|line)(?= \w+ (?:on|up|yesterday|since|at))",
    r"(?:change|swap|replace|renew) (?:the |this |that |his |her |my |our )?(?:new |fresh |old |clean )*"
    r"(?:feeding |giving )?(?:set|tubing|line)",
    r"(?:set|tubing|line)(?: \w+){0,3} (?:changing|swapping|replacing|renewing|out|off)",
    r"(?:set|tubing|line) (?:(?:due |have |has |need |needs )?to|must|be|is) "
    r"(?:be )?(?:changed?|swapped|replaced|renewed)",
)


def _of_the_set(slots: Slots, at: datetime | None) -> Mapping[str, Any]:
    """A feeding set is changed by its own limit, whatever ran through it; the milk's is the shorter one."""
    slots.used["the_set"] = Used(True, "question")  # what is asked back is answered of the set as well
    changed = slots.night.state.set_changed if slots.night.state is not None else None
    if at is None or ("opened" in slots.used and slots.used["opened"].origin == "feed log"):
        slots.used.pop("opened", None)
        at = slots.fill("opened", changed, "feed log")
    if at is None:
        raise Ask("opened", code="set_on")
    figure = feeding_set(slots.night.today)
    slots.fill("limit", figure.value, "standard")
    slots.remarks.append("of_the_set")
    return {"clock_started": at, "limit": figure.value, "now": now(slots), "started_from": "opened",
            "sources": ("arithmetic", figure.source)}


def _by_a_later_fill(slots: Slots, began: datetime, origin: str) -> tuple[datetime, str]:
    """What was poured last, where only the start is known before and what hung then was past its limit when it was."""
    poured = [e.at for e in slots.night.events if e.kind == "poured" and not before(slots.night.now, e.at)]
    if origin != "feed_started" or not poured:
        return began, origin
    limit, _ = hanging_limit(slots)
    if before(max(poured), later(began, limit)):
        return began, origin
    slots.remarks.append("last_fill")
    return max(poured), "poured"


OF_A_LIMIT = (r"limit", r"hang time", r"good for", r"no more than", r"at most", r"max\w*", r"not longer than", r"rule")
SHORTEST = qty(1, "h")  # common practice, no source: no feed is given less than that to hang


def _no_limit(slots: Slots) -> None:
    """ "Got distracted for 45 minutes, and poured it at seven": that is how long something else took."""
    told = slots.spoken.get("limit")
    if told is not None and slots.used["limit"].value < SHORTEST and not slots.said.has(*OF_A_LIMIT):
        slots.spoken.pop("limit")
        slots.used.pop("limit")


def gather(slots: Slots) -> Mapping[str, Any]:
    of_before = "the_set" in slots.carried and not slots.said.has(*WHAT_HANGS)
    if "the_set" in slots.carried and not of_before:
        slots.carried.pop("limit", None)  # "and the milk?": it has a limit of its own
    slots.assign(
        opened=Want("clock", ("opened", "start")),
        ago=Want("time", ("ago",), bare=False, shy=0.3),
        limit=Want("time", ("limit", "over"), bare=False, told=True),
        now=Want("clock", ("clock_now",)),
    )
    _no_limit(slots)
    plan, told_now = slots.night.plan, "opened" not in slots.spoken and _opened_now(slots)
    kept_cold = plan is not None and plan.formula.form != "powder"
    if told_now and kept_cold and "opened" in slots.carried:
        slots.carried.pop("opened")  # "and if I pour it right now?", of one that was opened and kept in the fridge
    at, origin = _first(slots), started_from(slots)
    if at is None and slots.get("ago") is not None and "limit" not in slots.used:
        at = slots.fill("opened", earlier(now(slots), slots.get("ago")), "question")
    if at is None and _opened_now(slots):
        at = slots.fill("opened", now(slots), "clock")
    state = slots.night.state
    if at is None and state is not None and state.started is not None:
        began, origin = _by_a_later_fill(slots, *clock_start(state.hang_events))
        at = slots.fill("opened", began, "feed log")
    if at is None and (poured := [e for e in slots.night.events if e.kind == "poured" and e.at <= slots.night.now]):
        at, origin = slots.fill("opened", max(e.at for e in poured), "feed log"), "poured"
    of_a_set = slots.said.has(*THE_SET) or beside("of_a_set").search(slots.said.lower)
    if (of_a_set or of_before) and not slots.said.has(*MIXED, *POURED):
        return _of_the_set(slots, at)
    if at is None:
        raise Ask("opened")
    limit, sources = hanging_limit(slots)
    return {"clock_started": at, "limit": limit, "now": now(slots), "started_from": origin, "sources": sources}
