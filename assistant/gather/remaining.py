"""What is still to come: the whole less what went in."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from assistant.gather._at_an_hour import LATER_ON, as_of, at_that_hour, in_an_hour
from assistant.gather._bag import OF_THE_BAG, share_gone
from assistant.gather._pause_known import by_the_log
from assistant.gather._pauses import no_part, off_before, time_off
from assistant.gather._shared import AGO, NOW, RATE, START, accuracy, check_entry, feed, rate, volume_of, which_feed
from assistant.gather._stretches import by_steps
from assistant.gather._when import no_pause, now, start
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, Want
from assistant.numbers.weighed_roles import WHOLE
from assistant.slots import Slots
from rules.clock import between
from rules.quantity import qty
from rules.steps import volume_of as volume_in

TO_COME = re.compile(r"\b(?:in|within|next)(?: about| the next)?$")


THIS_BAG = (r"(?:this|that) (?:bag|bottle|pouch|one|lot)", r"(?:in|on) (?:the|his|her|my) (?:bag|bottle|pouch)")
NEARLY = qty(10, "min")


OF_THE_CONTAINER = (r"not the feed", r"actual (?:bottle|bag|container|pouch)", r"(?:bottle|bag|pouch) itself")


def _not_of_the_container(slots: Slots) -> None:
    """ "In the actual bottle, not the feed": more may hang than is ordered, so it is asked for."""
    if slots.said.has(*OF_THE_CONTAINER) and "total" not in slots.spoken:
        raise Ask("volume")


def elapsed(slots: Slots) -> Any:
    """How long it has run: said ("5 hours have passed"), or from the start said."""
    no_pause(slots, "ago")
    told = slots.spoken.get("ago")
    if told is not None and TO_COME.search(told.before):
        del slots.spoken["ago"], slots.used["ago"]  # "handover in ten minutes": not how long it has run
        told = None
    ago = slots.get("ago")
    if told is not None and not _says_it_ran(told) and _runs_longer(slots):
        raise Ask("which_number", code="unclaimed", numbers=told.amount.text)  # "it said occlusion for ten minutes"
    begun = start(slots, when="past") if slots.get("start") is not None else None
    ran = between(begun, now(slots)) if begun is not None else None
    if told is not None and ago is not None and ran is not None and abs(ran - ago) > NEARLY:
        raise Ask("which_number", code="unclaimed", numbers=told.amount.text)  # two running times that do not agree
    return ago if ago is not None else ran


RAN = re.compile(
    r"\b(?:be|been|on|ran|runs?|running|go|goes|going|start\w*|begun|began|hung|up|since|connected|hook\w*|plugged|fed|feed\w*"
    r"|after|last|past|first|only|just|had|given|over|through)\b"
)
RAN_AFTER = re.compile(
    r"(?:ago|earlier|back|in\b|so far|now|already|running|of (?:it|feed\w*|running)|gone|passed|have|since)"
)


def _says_it_ran(spoken: Spoken) -> bool:
    return bool(RAN.search(spoken.before) or RAN_AFTER.match(spoken.after)) or not spoken.before


def _runs_longer(slots: Slots) -> bool:
    """Does the log have the feed as on for longer than was told?"""
    state = slots.night.state
    if "rate" in slots.spoken:
        return False  # "how much is 60 an hour for two hours": a sum of its own
    return state is not None and state.running and state.running_time > slots.used["ago"].value + NEARLY


def _says_left(slots: Slots) -> bool:
    """ "300 left", "the bag is half gone": what is left is said, and only its time is asked."""
    spoken = slots.spoken.get("total")
    if spoken is None:
        return False
    left = spoken.roles.get("left", 0.0)
    others = max(spoken.roles.get("total", 0.0), spoken.roles.get("hung", 0.0))
    again = "left_now" in slots.carried and others <= 0.3  # "sorry, 510", after "150 sitting in the bag at 75"
    if again or (left > 0.3 and left > others):
        slots.used["left_now"] = Used(True, "question")
        return True
    return False


def _left_now(slots: Slots) -> bool:
    """ "It went on at nine, 260 not in yet": plainly what is left now, whenever the feed began, which plays no part."""
    if slots.spoken["total"].roles.get("left", 0.0) < WHOLE if "total" in slots.spoken else True:
        return False
    for name in ("start", "ago"):
        if name in slots.spoken:
            slots.spoken["began"] = slots.spoken.pop(name)
            slots.used.pop(name, None)
    return True


def share_of(slots: Slots, total: Any, given: Any) -> Any:
    """ "He had three quarters of it": a share of nothing named is one of the whole that is counted from."""
    spoken = slots.spoken.get("given")
    reading = spoken.amount.readings[0] if spoken is not None else None
    shared = reading is not None and reading.kind in ("share", "percent")
    if shared and len(slots.night.feeds_named(slots.said.heard.text)) > 1:
        raise Ask("volume")  # "all of breakfast, half the noon": not a share of the whole day
    if spoken is None or reading is None or reading.kind not in ("share", "percent") or reading.unit not in ("", "%"):
        return given
    part = reading.value / (100 if reading.kind == "percent" else 1)
    slots.used["given"] = Used((total * part).to("mL"), "question", spoken.amount.text)
    return slots.used["given"].value


def _given(slots: Slots) -> Any:
    """What went in as it was told; of what the log had before, it knows the whole that it is a part of, too."""
    given = slots.get("given")
    if given is not None and slots.used["given"].origin == "feed log":
        for name in ("given", "total"):
            if name in slots.carried and slots.carried[name].origin == "feed log":
                del slots.carried[name]
                slots.used.pop(name, None)
        slots.used.pop("given", None)
        return None
    return given


def _in_the_bag(slots: Slots) -> Mapping[str, Any] | None:
    """ "What's left in that bag?": of the bag, where the log knows what was poured and it holds less than the feed."""
    state = slots.night.state
    less = state is not None and state.in_bag is not None and (state.left is None or state.in_bag < state.left)
    if state is None or not less or not slots.said.has(*OF_THE_BAG):
        return None
    total = slots.fill("total", state.in_bag, "feed log")
    if state.left is not None:
        slots.fill("feed_left", state.left, "feed log")
        slots.remarks.append("of_the_bag")
    return {"total": total, "given": qty(0, "mL"), "rate": state.rate, "now": now(slots), "accuracy": accuracy(slots)}


def _later_hour(slots: Slots) -> Spoken | None:
    """An hour that plays no part yet; of another's doing as well ("I'm up at six ... what will be left then?")."""
    then = slots.said.has(r"(?:by )?then\W*$", "by then", "by that time", "at that (?:time|point)")
    hours = [s for s in slots.unused() if s.reading("clock") and (then or s.roles.get("noise", 0.0) <= 0.9)]
    return hours[0] if hours else None


def _gone(slots: Slots, runs_at: Any, ran: Any, off: Any) -> Any:
    """What went in: each ordered rate for its own time, where a step came on the way."""
    stepped = by_steps(slots, ran) if off is None else ()
    return volume_in(stepped) if stepped else (runs_at * ran).to("mL")


def _not_by_then(slots: Slots, *, then: bool = False) -> None:
    """What is left by a later hour is another sum than what is left now: it is asked about."""
    later = _later_hour(slots)
    if later is not None and slots.said.has(*LATER_ON) and (not then or slots.said.has("then", "by then")):
        raise Ask("which_number", code="unclaimed", numbers=later.amount.text)


def gather(slots: Slots) -> Mapping[str, Any]:
    if (then := in_an_hour(slots) or as_of(slots, left=True)) is not None:
        slots.fill("total", then.limit, "feed log")
        by = then.stopped_at or slots.used["at_hour"].value
        return {"total": then.limit, "given": then.given, "rate": then.rate, "now": by, "accuracy": accuracy(slots)}
    if (then := at_that_hour(slots, left=True)) is not None:
        return {"total": slots.fill("total", then.limit, "feed log"), "given": then.given}
    off = by_the_log(slots, time_off(slots)) or off_before(slots)
    slots.assign(
        given=Want("volume", ("given",), told=True),
        total=Want("volume", ("total", "hung", "left")),
        rate=RATE,
        ago=AGO,
        start=START,
        now=NOW,
    )
    _not_of_the_container(slots)
    of, state = feed(slots), slots.night.state
    given = _given(slots)
    total = slots.get("total")
    ran = elapsed(slots)
    if off is not None and (ran is None or given is not None):
        no_part(slots)
    elif off is not None:
        ran = ran - off
    if given is None and (ran is None or "whole" in slots.spoken or _left_now(slots)) and _says_left(slots):
        share_gone(slots, "total")
        given = qty(0, "mL")
        total = slots.get("total")
    _not_by_then(slots, then=True)
    if given is None and total is None and ran is None and state is not None and state.given is not None:
        if (bag := _in_the_bag(slots)) is not None:
            return bag
        slots.fill("given", state.given, "feed log")
        if state.left is None:
            raise Ask("volume")
        total = slots.fill("total", state.limit, "feed log")
        slots.remarks += ["if_on_now"] * (state.paused_since is not None)
        return {
            "total": total,
            "given": state.given,
            "rate": rate(slots) if slots.has("rate") else state.rate,  # "and if it were on 85?": the rest, at that
            "now": now(slots),
            "accuracy": accuracy(slots),
        }
    if total is None:
        total = slots.fill("total", volume_of(slots, of), "care plan")
    else:
        check_entry(slots, "total", total, volume_of(slots, of))
    if total is None:
        raise Ask("volume") if slots.said.has(*THIS_BAG) else which_feed(slots)
    given = share_of(slots, total, given)
    _not_by_then(slots)
    runs_at = rate(slots)
    if given is None:
        if ran is None:
            raise Ask("start")
        if runs_at is None:
            raise Ask("rate")
        given = slots.fill("given", min(_gone(slots, runs_at, ran, off), total), "question")
    return {"total": total, "given": given, "rate": runs_at, "now": now(slots), "accuracy": accuracy(slots)}
