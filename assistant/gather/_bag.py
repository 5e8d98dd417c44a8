"""What is in the bag: a part of it that was said, what the log leaves in it, and what fills the line."""

from __future__ import annotations

import re

from assistant.household.care_plan import Feed
from assistant.night import feed_volume
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, Want, measure, size_of
from assistant.slots import Slots
from rules.quantity import Quantity

PRIMED = (
    r"primed", r"prime[sd]? (?:the |his |her |my |up )?(?:line|lines|set|tubing|it) already", r"already primes?",
    r"after priming",
    r"(?:set|line|tubing) is wet",
    r"wet set",
    r"same (?:set|line|tubing|giving set)",
    r"next fill",
    r"(?:second|third|other) (?:fill|bag|lit(?:re|er)|bottle)",
    r"full line",
    r"(?:line|lines|tubing|tube|set)(?:'?s| is| are| was)? (?:\w+ )?(?:full|filled|wet|primed|loaded)",
    r"already (?:full|wet|filled|primed)",
    r"(?:line|set|tubing)(?: is| was)? (?:done|all|been) primed?",
    r"primed? already",
    r"(?:filled|primed) (?:up )?(?:the |his |her |my )?(?:lines?|tubing|set|giving set)",
)
TOPPED_UP = (r"top(?:ping)? (?:it )?up", r"refill\w*")  # its line is full, if it is that fill which is asked of
FIRST_FILL = (
    r"(?:will|would|do|does|must|need)(?: \w+){0,4} (?:a )?(?:top[- ]up|refill)\w* (?:later|after|then)",
    r"to (?:begin|start)(?: with| off)?", r"(?:goes?|go|tip|pour|put|load)(?: \w+){0,3} (?:in )?first", "initially",
    "for starters", r"top (?:it )?up (?:later|after|then)",
)
A_CONTAINER = (r"bags?", r"bottles?", r"cartons?", r"pouch(?:es)?", r"containers?", r"drip", r"syringes?")
GONE = ("gone", "empty", "used", "finished", "through", "down", "went", "given", "delivered")
PLAINLY = 0.9  # how plainly an amount is said to have gone in
OF_A_PART = re.compile(rf"\b(?:{'|'.join(GONE)}|left|full|remaining|still|to go)\b")


DRY = (
    r"(?:brand )?new (?:dry )?(?:set|line|tubing|giving set|hose)",
    r"dry (?:\w+ ){0,2}(?:set|line|tubing|giving set|hose|bag|pouch)",
    r"unprimed",
    r"(?:set|line|lines|tubing|hose)(?:'s| is| was| are)? (?:(?:bone|still|all|completely|totally|new|and|brand) )*"
    r"(?:dry|empty)",
    r"(?:not|\w+n'?t) (?:been |yet |even )*(?:primed|filled the (?:line|set|tubing))",
    r"fresh (?:set|line|tubing|hose)",
)


def primed(slots: Slots) -> bool:
    """Is the line told to be full, now or before? A dry or new set that is named outweighs a refill that is only
    spoken of."""
    topped_up = slots.said.has(*TOPPED_UP) and not slots.said.has(*FIRST_FILL)
    full = (slots.said.has(*PRIMED) or topped_up or "line_full" in slots.carried) and not slots.said.has(*DRY)
    if full:
        slots.used["line_full"] = Used(True, "question")
    else:
        slots.carried.pop("line_full", None)
    return full


OF_THE_BAG = (r"bags?", r"bottles?", r"hanging(?! (?:on|about|around))", r"empty", r"runs? (?:out|dry)",
              r"top\w* (?:it )?up", r"refill\w*", r"fill\w*")


def left_by_log(slots: Slots) -> Quantity | None:
    """What is left of the feed that runs by the log; of the bag, where that holds less and is what is asked about."""
    state = slots.night.state
    if state is None or not (state.running or state.paused_since is not None):
        return None
    slots.remarks += ["if_on_now"] * (state.paused_since is not None)
    less = state.in_bag is not None and (state.left is None or state.in_bag < state.left)
    if less and slots.said.has(*OF_THE_BAG):
        return slots.fill("volume", state.in_bag, "feed log")
    return slots.fill("volume", state.left, "feed log") if state.left is not None else None


FULL_BAG = (r"(?:a |the |one )?(?:full|whole|fresh|new|brand new) (?:bag|pouch|bottle|one|container|pack)",)
RUNS_DRY = (r"runs? (?:out|dry)", r"running (?:out|dry)", "empty", "empties", r"bag\w* (?:done|finished|last\w*|over)")


def new_closed_bag(slots: Slots, of: Feed | None) -> Quantity | None:
    """ "New bag, dry line, at 12: when does it run dry?": a closed bag's own size, where the feed is more than that."""
    plan, whole = slots.night.plan, feed_volume(of) if of is not None else None
    holds = plan.formula.container if plan is not None and plan.formula.form == "closed_bag" else None
    if holds is None or whole is None or holds >= whole or "volume" in slots.carried:
        return None
    if not (slots.said.has(*FULL_BAG) and slots.said.has(*RUNS_DRY)):
        return None
    if slots.said.has(*DRY) and not primed(slots):
        slots.fill("priming_volume", plan.equipment.priming_volume if plan else None, "care plan")
    slots.remarks.append("of_this_bag")
    found: Quantity = slots.fill("volume", holds, "care plan")
    return found


IN_THEM = (r"(?:had|has|gone|went|through|in (?:her|him|me|them))",)


def _of_the_bag(slots: Slots, name: str) -> bool:
    """ "How much is in the bag?", "half of it": no word says that it went in."""
    return slots.favours == name and not slots.said.has(*IN_THEM)


def share_gone(slots: Slots, name: str = "volume") -> None:
    """ "The litre bag is half gone": what is left is the rest of it."""
    if _of_the_bag(slots, name) and name not in slots.spoken and "given" in slots.spoken:
        slots.spoken[name], slots.used[name] = slots.spoken.pop("given"), slots.used.pop("given")
    spoken = slots.spoken.get(name)
    if spoken is None or spoken.amount.readings[0].kind not in ("share", "percent"):
        return
    reading = spoken.amount.readings[0]
    part = reading.value / (100 if reading.kind == "percent" else 1)
    whole = None
    for other in slots.said.spoken:
        size = other.reading("volume", "number")
        if other is not spoken and size is not None and other.roles.get("bag", 0) > 0.4:  # "the 500 bag"
            slots.spoken["bag"], whole = other, measure("volume", size, slots.night)
            break
    feeds = slots.night.feeds_named(slots.said.heard.text)
    if whole is None and not reading.unit and len(feeds) == 1 and not slots.said.has(*A_CONTAINER):
        whole = feed_volume(feeds[0])  # "the tea feed is two thirds gone"
    whole = whole if whole is not None else size_of(reading.unit or "bag", slots.night)
    if whole is None:
        raise Ask("volume")
    state = OF_A_PART.search(spoken.after)
    gone = state is not None and state.group() in GONE
    slots.used[name] = Used((whole * (1 - part if gone else part)).to("mL"), "question", spoken.amount.text)


A_CASE = (r"what if", r"and if", r"if", r"suppose", r"supposing")  # "what if she only had 300 of it", of 400
GIVEN = Want("volume", ("given",), shy=0.2, told=True)


def given_so_far(slots: Slots, of: Feed | None) -> Quantity | None:
    """ "690 in, when is it finished?": what has gone in was said; what is left is the rest of the ordered amount."""
    given, said = slots.spoken.get("given"), slots.spoken.get("volume")
    whole = feed_volume(of) if of is not None else None
    if given is not None and said is None and primed(slots) and not slots.said.has(*IN_THEM):
        slots.spoken["volume"], slots.used["volume"] = slots.spoken.pop("given"), slots.used.pop("given")
        return None  # "the line is full and I sloshed 360 in": into the bag
    hangs = slots.carried.get("volume")
    put = hangs is not None and hangs.origin == "question" and slots.said.has(*A_CASE)
    if given is not None and said is None and hangs is not None and (put or slots.used["given"].value == hangs.value):
        slots.spoken["volume"], slots.used["volume"] = slots.spoken.pop("given"), slots.used.pop("given")
        return None  # "380 is in the bag", and then "it had 380 in at ten past eleven"
    if given is None and said is not None and _gone_in(said) and not _of_the_bag(slots, "volume"):
        slots.spoken["given"], slots.used["given"] = slots.spoken.pop("volume"), slots.used.pop("volume")
        given = said
    elif given is not None and said is not None and _was_hung(said):
        return _rest_of_what_hung(slots)
    elif given is not None and said is not None:  # "200 in, 448 left": what is left is said
        slots.spoken.pop("given")
        if whole is None or slots.used.pop("given").value + slots.used["volume"].value != whole:
            raise Ask("which_number", code="unclaimed", numbers=f"{given.amount.text}, {said.amount.text}")
        slots.spoken["gone_in"] = given
        return None
    if given is None and ("volume" in slots.used or slots.get("given") is None):  # of before: "and if I start at ten?"
        return None
    if "total" in slots.carried and "given" in slots.carried:  # "hung 560, 180 in", and then: "done when?"
        whole = slots.get("total")
    if whole is None:
        raise Ask("which_feed" if len(slots.night.feeds) > 1 else "volume", names=[f.name for f in slots.night.feeds])
    if slots.used["given"].value > whole:
        raise Ask("which_number", code="unclaimed", numbers=slots.used["given"].words)
    slots.fill("total", whole, "care plan")
    left: Quantity = slots.fill("volume", (whole - slots.used["given"].value).to("mL"), "question")
    return left


def _was_hung(spoken: Spoken) -> bool:
    """Is an amount told as what was put up, or as the whole, and not as what is left?"""
    left = spoken.roles.get("left", 0.0)
    return max(spoken.roles.get("hung", 0.0), spoken.roles.get("total", 0.0)) > max(left, HUNG)


HUNG = 0.9  # how plainly an amount is said to have been put up


def _rest_of_what_hung(slots: Slots) -> Quantity:
    """ "Hung 560, 180 has gone in": what is left is the rest of it."""
    hung, given = slots.used.pop("volume"), slots.used["given"]
    if given.value > hung.value:
        raise Ask("which_number", code="unclaimed", numbers=f"{given.words}, {hung.words}")
    slots.used["total"] = hung
    left: Quantity = slots.fill("volume", (hung.value - given.value).to("mL"), "question")
    return left  # a dry line still takes its part of it: see priming()


def _gone_in(spoken: Spoken) -> bool:
    given = spoken.roles.get("given", 0.0)
    return given >= PLAINLY and given > max((spoken.roles.get(r, 0.0) for r in ("left", "hung", "total")), default=0.0)


def priming(slots: Slots, name: str = "volume") -> Quantity | None:
    """The priming volume to take off: only for what was hung or poured fresh on a dry set."""
    plan = slots.night.plan
    spoken = slots.spoken.get(name)
    if plan is None or plan.equipment.priming_volume is None:
        return None
    if spoken is None and "priming_volume" in slots.used and name in slots.used:
        return plan.equipment.priming_volume  # of a new bag on a dry line
    if primed(slots):
        slots.carried.pop("priming_volume", None)  # "oh wait, the line was full already"
        return None
    left = spoken.roles.get("left", 0.0) if spoken is not None else 0.0
    if "priming_volume" in slots.carried and left <= 0.3:
        kept: Quantity = slots.get("priming_volume")  # "hung 300", "no, 350", "and at 90?": still a dry line
        return kept
    if spoken is None and slots.said.has(*DRY) and name in slots.used and slots.used[name].origin == "question":
        slots.fill("priming_volume", plan.equipment.priming_volume, "care plan")
        return plan.equipment.priming_volume  # "it is freshly poured, and a new dry line", after the sum
    if spoken is None:
        return None
    fresh = spoken.roles.get("hung", 0.0) - max(spoken.roles.get("left", 0.0), 0.0)
    if fresh > 0.3 or slots.said.has(*DRY):
        slots.fill("priming_volume", plan.equipment.priming_volume, "care plan")
        return plan.equipment.priming_volume
    return None
