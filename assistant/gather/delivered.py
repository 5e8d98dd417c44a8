"""What has gone in so far: rate and running time, or what the log holds."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from assistant.gather._at_a_step import at_a_step
from assistant.gather._at_an_hour import as_of, at_that_hour, in_an_hour, log_till
from assistant.gather._bag import priming
from assistant.gather._had import feeds_had, in_the_window, of_the_feed_named, since_a_feed
from assistant.gather._off_by_log import ended_as_logged
from assistant.gather._pause_known import by_the_log
from assistant.gather._pauses import no_part, off_before, time_off
from assistant.gather._rest_told import OF_A_RATE, whole_less_rest
from assistant.gather._restart import BACK_ON, back_on
from assistant.gather._shared import NOW, RATE, START, accuracy, feed, on_by_the_plan, ordered_rate, rate, volume_of
from assistant.gather._since_by_log import SAME, since_by_log
from assistant.gather._stretches import by_clock_and_log, by_length, by_steps
from assistant.gather._tally import row_of_amounts
from assistant.gather._told_beside import since_later
from assistant.gather._when import begun_before_the_end, ends_after, now, start
from assistant.gather.remaining import elapsed
from assistant.household.care_plan import Feed
from assistant.household.day_log import day_total
from assistant.numbers.wants import Ask, Used, Want
from assistant.numbers.weighed_roles import WHOLE
from assistant.slots import Slots
from rules.clock import before, between, midnight

TO_COME = ("will", "would", "by", "till?", "until", r"\w+'ll", "going to", "when", "if", "to be", "before")
UP_TO_NOW = (
    "as things stand", "right now", "so far", "as it stands", "at the moment", "already", "by now", "up to now",
    "till now", "until now", "as of now", "to date",
)
OF_THE_DAY = ("today", "all day", "total", "altogether")
HELD = (r"on hold", r"paused", r"stopped", r"off", r"switched off", r"not running")


def _held(slots: Slots) -> Mapping[str, Any] | None:
    """ "It has been on hold since ten": what the log makes of the time before that."""
    on = slots.night.state
    if on is None or on.started is None or not slots.said.has(*HELD) or not slots.has("start"):
        return None
    used, begun = slots.used["start"], on.started
    since = slots.instant("start", "past")
    state = replace(slots.night, now=since).state if since is not None else None
    if state is None or state.given is None or (since is not None and abs(since - begun) <= SAME):
        slots.used["start"] = used
        return None  # "since two, leaving out the time he was off": the feed's own start
    slots.fill("given", state.given, "feed log")
    return {"given": state.given, "volume_limit": state.limit, "accuracy": accuracy(slots)}


def _on_again(slots: Slots, of: Feed | None) -> Mapping[str, Any] | None:
    """ "She went back on at midnight, how much is in?": what had gone in before counts too, where the log holds it."""
    used, state = slots.used.get("start"), slots.night.state
    if state is None or "start" not in slots.spoken or not slots.said.has(*BACK_ON) or slots.said.has("since"):
        return None
    at = slots.instant("start", "past")
    known = [e for e in slots.night.events if e.kind == "resumed" and at is not None and abs(e.at - at) <= SAME]
    then = state if state.running and known else back_on(slots, at, of)
    if then is None or then.given is None:
        if used is not None:
            slots.used["start"] = used
        return None
    slots.fill("given", then.given, "feed log")
    return {"given": then.given, "volume_limit": then.limit, "accuracy": accuracy(slots)}


def _until_then(slots: Slots) -> Any:
    """ "How much will have gone in by three?": from the start said, or the log's, to that time."""
    told = slots.spoken.get("by")
    ended = told is not None and told.roles.get("ended", 0.0) >= WHOLE  # "off for good at ten": up to then, by now
    if ended:
        begun_before_the_end(slots)
    begun, state = start(slots, when="past") if slots.get("start") is not None else None, slots.night.state
    if begun is None and state is not None and state.running and state.started is not None:
        begun = slots.fill("start", state.started, "feed log")
    if begun is None:
        return None
    by = ends_after(slots, "by", begun)
    until = told is not None and re.search(r"\b(?:un)?till?$", told.before)
    if until and "rate" in slots.spoken and state is not None and state.running and "start" not in slots.spoken:
        raise Ask("which_number", code="unclaimed", numbers=slots.spoken["rate"].amount.text)  # and what ran since?
    if told is not None and slots.said.has(*UP_TO_NOW) and not ended:
        slots.used.pop("by")
        raise Ask("which_number", code="unclaimed", numbers=told.amount.text)  # "off when they rang at ten ... by now?"
    if told is not None and OF_A_RATE.search(told.before):
        slots.used.pop("by")  # it stays open, and says nothing of what is asked next
        raise Ask("which_number", code="unclaimed", numbers=told.amount.text)  # "on the old rate till two": and since?
    if by is not None and _from_to(slots):
        return between(begun, by)  # "72 an hour from 9 to 3": whenever that is
    ahead = by is not None and told is not None and before(now(slots), by) and not ended
    if ahead and told is not None and ("now" in slots.spoken or not slots.said.has(*TO_COME)):
        raise Ask("which_number", code="unclaimed", numbers=told.amount.text)  # "so far" does not reach beyond now
    ran = between(begun, by) if by is not None else None
    if ran is not None and state is not None and state.running and state.paused_total is not None:
        ran = ran - state.paused_total
    return ran


def _from_to(slots: Slots) -> bool:
    """Is a rate told with the stretch that it is for, from one hour to the other?"""
    begun, told = slots.spoken.get("start"), slots.spoken.get("by")
    more = {"off", "now", "ago"} & slots.spoken.keys()  # "... til 1:40, then off 50 minutes": not all of it
    if more or begun is None or told is None or "rate" not in slots.spoken or slots.said.has(*UP_TO_NOW):
        return False
    joined = told.amount.start - begun.amount.end <= 1 and told.before in ("to", "till", "until", "and", "-")
    return joined and begun.before.split()[-1:] in (["from"], ["between"])


def _by_amounts(slots: Slots) -> Mapping[str, Any] | None:
    """ "Hung 440, 185 is in the bag now": the one less the other. "It stopped by itself at 440": that much went in."""
    total, still, given = (slots.spoken.get(n) for n in ("total", "still", "given"))
    if total is not None and still is None and total.roles.get("left", 0.0) > total.roles.get("hung", 0.0):
        total = None
    if total is not None and still is not None and "rate" not in slots.spoken:
        whole, rest = slots.used["total"].value, slots.used["still"].value
        if rest > whole:
            raise Ask("which_number", code="unclaimed", numbers=f"{total.amount.text}, {still.amount.text}")
        line = priming(slots, "total")
        in_all = whole if line is None else (whole - line).to("mL")
        slots.used["given"] = Used((in_all - rest).to("mL"), "question")
        return {"given": slots.used["given"].value, "volume_limit": None, "accuracy": None}
    for name in ("still", "given"):
        if name in slots.spoken and not (name == "given" and given and given.roles["given"] >= WHERE_IT_STOPPED):
            slots.spoken.pop(name)
            slots.used.pop(name)
    if "given" in slots.spoken:
        return {"given": slots.used["given"].value, "volume_limit": None, "accuracy": None}
    return None


WHERE_IT_STOPPED = 2.0  # "it stopped at 440": told by a whole expression
WANTED = {
    "total": Want("volume", ("total", "hung", "left"), told=True),
    "rate": RATE,
    "ago": Want("time", ("ago", "over"), bare=False),
    "start": START,
    "by": Want("clock", ("finish", "ended"), told=True),
    "now": NOW,
    "given": Want("volume", ("given",), told=True, shy=0.3),
    "still": Want("volume", ("left",), told=True, shy=0.3),
}


def _whole_day(slots: Slots) -> Any:
    """ "Today", of several feeds: all of them by the log; None where the one that runs says it all, and more."""
    state = slots.night.state
    words = ("today", "all day") if state is not None and state.running else OF_THE_DAY
    if state is None or not slots.said.has(*words) or slots.has("by") or feeds_had(slots):
        return None
    total = day_total(slots.night, midnight(slots.night.now))
    return None if state.running and total == state.given else total


def _told(slots: Slots) -> bool:
    """Is a number said, a day ("today") apart?"""
    return any(s.amount.readings[0].kind not in ("day", "date") for s in slots.said.spoken)


def _by_the_log(slots: Slots, of: Feed | None) -> Mapping[str, Any] | None:
    """What the log makes of a feed that is held, went on again, or is asked about since an hour."""
    held = _held(slots) or ended_as_logged(slots)
    if held is not None:
        return held
    again = _on_again(slots, of) if not slots.has("by") else None
    if again is not None:
        return again
    since = since_by_log(slots)
    return {"given": since, "accuracy": accuracy(slots)} if since is not None else None


def gather(slots: Slots) -> Mapping[str, Any]:
    had = since_a_feed(slots) or in_the_window(slots) or of_the_feed_named(slots) if slots.night.events else None
    if had is not None:
        return {"given": had, "accuracy": None}
    if (then := in_an_hour(slots) or at_that_hour(slots) or as_of(slots)) is not None:
        return {"given": then.given, "volume_limit": then.limit, "accuracy": accuracy(slots)}
    several = by_length(slots) or by_clock_and_log(slots)
    if several:
        for spoken in slots.said.spoken:
            slots.spoken[f"stretch_{spoken.amount.start}"] = spoken
        slots.remarks.append("in_stretches")
        return {"segments": several, "accuracy": accuracy(slots)}
    if (in_all := row_of_amounts(slots)) is not None:
        return {"given": in_all, "accuracy": None}
    off = by_the_log(slots, time_off(slots)) or off_before(slots)
    slots.assign(**WANTED)
    told = whole_less_rest(slots) or _by_amounts(slots)
    if told is not None:
        return told
    at_a_step(slots)
    of, state = feed(slots), slots.night.state
    if (by_log := _by_the_log(slots, of)) is not None:
        return by_log
    if (whole_day := _whole_day(slots)) is not None:
        return {"given": slots.fill("given", whole_day, "feed log"), "accuracy": None}
    if slots.said.has(*UP_TO_NOW):
        slots.carried.pop("by", None)  # "and as things stand?", after what would be in by one
    till_then = slots.get("by") is not None
    if till_then and "ago" in slots.spoken:  # until an hour, and for so long: they do not both say how long it ran
        raise Ask("which_number", code="unclaimed", numbers=slots.spoken["ago"].amount.text)
    ran = _until_then(slots) if till_then else elapsed(slots)
    since_later(slots, slots.get("start") if not till_then else None)
    total = slots.get("total")
    logged = not till_then and state is not None and state.given is not None and "rate" not in slots.used
    if till_then and (by_then := log_till(slots)) is not None:
        return {"given": by_then.given, "volume_limit": by_then.limit, "accuracy": accuracy(slots)}
    if off is not None and ran is None:
        no_part(slots)
    ran = ran - off if ran is not None and off is not None else ran
    if ran is None and logged:
        assert state is not None
        slots.fill("given", state.given, "feed log")
        return {"given": state.given, "volume_limit": state.limit, "accuracy": accuracy(slots)}
    runs_at = rate(slots)
    if of is not None and of.method == "syringe" and not slots.night.feeds_named(slots.said.heard.text):
        of = on_by_the_plan(slots) or of  # the feed of that rate
    if ran is None:
        raise Ask("start", code="start" if slots.night.events or _told(slots) else "nothing_on")
    stepped = by_steps(slots, ran) if off is None else ()
    if stepped:
        slots.remarks.append("in_stretches")
        return {"segments": stepped, "accuracy": accuracy(slots)}
    if runs_at is None:
        raise Ask("rate")
    as_ordered = slots.used["rate"].origin != "question" or (of is not None and runs_at == ordered_rate(slots))
    if total is None and as_ordered:
        total = slots.fill("total", volume_of(slots, of), "care plan")
    return {"rate": runs_at, "running": ran, "volume_limit": total, "accuracy": accuracy(slots)}
