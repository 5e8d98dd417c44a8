"""What was had, by the log: asked in the past ("how much has he had today", "what was that"), never the plan's day."""

from __future__ import annotations

import re
from datetime import datetime, timedelta

from assistant.household.care_plan import Feed
from assistant.household.day_log import day_total, feeds_since, given_since
from assistant.numbers.beside_the_point import BESIDE_THE_FEED
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask
from assistant.slots import Slots
from rules.clock import midnight
from rules.feed_state import FeedState
from rules.quantity import Quantity, qty

HAD = (
    r"(?:has|have|had|did|'s|ve|'ve) (?:\w+ ){1,3}?(?:had|got|get|have|taken|take|gone|put|used|give|given|drunk)",
    r"\w+(?:'s|'ve)? (?:actually |really |already )?(?:(?:had|got|taken|been given)(?: today| so far)|taken (?:on|in))",
    r"(?:up to|until|till|by|as of|as at) (?:this|the) (?:very )?(?:minute|moment|point|second)",
    r"(?:went|gone|put) (?:in|down|through)",
    r"so far",
    r"(?:up to|until|till|by|as of|as at) now",
    r"to date",
    r"(?:already )?in (?:(?:him|her|me|them) )?(?:already )?today",
    r"by the log",
)
THAT = (r"(?:was|were) (?:that|it|this|those|they)", r"(?:did|has|have) (?:that|those|it|this) (?:come to|make|give)")
IF = (
    r"if(?! (?:that|it|this)(?:'s| is)? (?:any (?:use|help|good)|helps?|matters?|relevant))"
    r"(?! you(?:'d| could| can| would| please))"
)
NOT_HAD = (
    r"should", r"would", r"will", IF, r"need\w*", r"meant", r"supposed", r"a day", r"per day", r"daily",
    r"plan\w*", r"usually", r"normally", r"ordered", r"goal", r"to have", r"could",
)
TODAY = (r"today", r"this (?:morning|afternoon|evening)", r"since (?:midnight|this morning|breakfast)")
DAY = timedelta(hours=24)
ALL_TOLD = (r"all told", r"all in all", r"in (?:all|total)", r"altogether", r"total", r"everything", r"the lot")
WHOSE = "(?:the |his |her |my |their )?(?:last )?"
LAST_DAY = re.compile(
    r"\b(?:last|past|previous|these) (?:day and night|(?:24|twenty[- ]four) ?(?:h|hrs?|hours?))\b|\blast day\b"
)
SEVERAL = re.compile(
    r"\b(?:both|(?:the|all|those|these) (two|three|four|2|3|4))"
    r"(?= (?:of (?:them|those)|feeds|boluses|bottles|together|today|so far|then|now)\b|\W*$)"
)
NUMBERS = {"two": 2, "three": 3, "four": 4, "2": 2, "3": 3, "4": 4}


def asks_what_was_had(slots: Slots) -> bool:
    """Is what was had asked, with no amount of its own?"""
    told = [s for s in slots.said.spoken if not _beside_what_was_had(s)]
    carried = any(name in slots.carried for name in ("volume", "rate", "over"))
    return not told and not carried and slots.said.has(*HAD, *THAT) and not slots.said.has(*NOT_HAD)


def _beside_what_was_had(spoken: Spoken) -> bool:
    """A day, what is beside the point, or an hour that bounds nothing: "she rang at 3 am", "changed at 1:15"."""
    first = spoken.amount.readings[0]
    if first.kind in ("day", "date") or first.kind in BESIDE_THE_FEED or spoken.roles.get("noise", 0.0) > 0.9:
        return True
    return first.kind == "clock" and first is spoken.amount.readings[-1] and not HOUR_BOUNDS.search(spoken.before)


HOUR_BOUNDS = re.compile(r"\b(?:since|until|till?|by|from|to|between|and|after|before|of|the)(?: about| around)?$")


def since(slots: Slots) -> datetime:
    now = slots.night.now
    return midnight(now) if slots.said.has(*TODAY) else now - DAY


def formula_had(slots: Slots, name: str = "volume") -> Quantity:
    """The formula that went in by the log: of the feed meant, else of the day. Asks where the log does not say."""
    states = _feeds(slots)
    if any(state.given is None for state in states):
        raise Ask("volume", code="how_much_in")
    if not states:
        raise Ask("volume", code="nothing_logged")
    one = slots.said.has(*THAT) or feeds_had(slots)
    if not one and slots.said.has(*TODAY):  # the feeds begun today, else the one that ran into it
        total = day_total(slots.night, midnight(slots.night.now)) or states[-1].given
    else:
        total = states[-1].given if one else given_since(slots.night, slots.night.now - DAY)
    if total is None:
        raise Ask("volume", code="how_much_in")
    slots.fill(name, total, "feed log")
    return total


def _feeds(slots: Slots) -> list[FeedState]:
    states = feeds_since(slots.night, slots.night.now - DAY)
    named = [feed.name for feed in feeds_had(slots)]
    return [s for s in states if s.feed in named] if named else states


def flushed(slots: Slots) -> Quantity | None:
    """The water of the flushes by the log; None where it holds none. Asks where one stands without its amount."""
    night, begins = slots.night, since(slots)
    found = [e for e in night.events if e.kind == "flushed" and begins <= e.at <= night.now]
    if any(e.volume is None for e in found):
        raise Ask("water", code="flush_unknown")
    volumes = [e.volume for e in found if e.volume is not None]
    if not volumes:
        return None
    total: Quantity = sum(volumes[1:], volumes[0]).to("mL")
    slots.fill("flushed", total, "feed log")
    return total


def water_had(slots: Slots, *, plain: bool) -> tuple[Quantity, Quantity | None]:
    """The formula and the flush water that were had; of plain water alone, no formula."""
    extra = flushed(slots)
    if plain or (extra is not None and not _feeds(slots)):
        if extra is None:
            raise Ask("water", code="nothing_logged")
        return qty(0, "mL"), extra
    if "volume" in slots.carried:  # "and the water?": of the formula that was just told
        return slots.get("volume"), extra
    return formula_had(slots), extra


def in_the_window(slots: Slots) -> Quantity | None:
    """ "In the last 24 hours", "the two of them": what those feeds come to by the log; None where none are meant so."""
    text, now = slots.said.lower, slots.night.now
    if LAST_DAY.search(text):
        for spoken in slots.said.spoken:
            if spoken.amount.readings[0].kind == "time":
                slots.spoken["window"] = spoken
        total = given_since(slots.night, now - DAY)
        if total is None:
            raise Ask("volume", code="nothing_logged")
        return slots.fill("given", total, "feed log")
    states = several_had(slots)
    if not states:
        return None
    total = qty(0, "mL")
    for state in states:
        if state.given is None:
            raise Ask("volume", code="how_much_in")
        total = total + state.given
    return slots.fill("given", total.to("mL"), "feed log")


def since_a_feed(slots: Slots) -> Quantity | None:
    """ "All told since lunch": that feed and all after it by the log; None where no whole is asked for."""
    since = rf"\bsince {WHOSE}"
    named = [f.name for f in slots.night.feeds if re.search(rf"{since}{re.escape(f.name.lower())}\b", slots.said.lower)]
    if len(named) != 1 or not slots.said.has(*ALL_TOLD):
        return None
    begun = [e.at for e in slots.night.events if e.kind == "feed_started" and e.feed == named[0]]
    lately = [at for at in begun if at >= slots.night.now - DAY]
    total = given_since(slots.night, lately[-1] - timedelta(seconds=1)) if lately else None
    if total is None:
        raise Ask("volume", code="nothing_logged")
    for spoken in slots.said.spoken:
        slots.spoken[f"since_{spoken.amount.start}"] = spoken
    return slots.fill("given", total, "feed log")


def several_had(slots: Slots) -> list[FeedState]:
    """ "The two of them", "both": today's feeds by the log. Asks where there are not so many of them."""
    found = SEVERAL.search(slots.said.lower)
    if found is None or slots.said.has(*NOT_HAD):
        return []
    states = feeds_since(slots.night, midnight(slots.night.now))
    if len(states) != NUMBERS.get(found.group(1) or "two", 0):
        raise Ask("volume", code="how_much_in")
    for spoken in slots.said.spoken:
        if spoken.amount.text.lower() == found.group(1):
            slots.spoken["window"] = spoken
    return states


def of_the_feed_named(slots: Slots) -> Quantity | None:
    """ "How much went in at lunch": that feed's own amount by the log, where another one ran since."""
    night, named, state = slots.night, feeds_had(slots), slots.night.state
    if len(named) != 1 or state is None or state.feed in (None, named[0].name) or slots.said.spoken:
        return None
    mine = [s for s in feeds_since(night, night.now - DAY) if s.feed == named[0].name]
    if not mine or mine[-1].given is None:
        raise Ask("volume", code="nothing_logged")
    return slots.fill("given", mine[-1].given, "feed log")


def feeds_had(slots: Slots) -> tuple[Feed, ...]:
    """The feeds of the plan that are named; "at lunch", of what was had, is one too (elsewhere it is a time of day)."""
    begins = r"\b(?:at|for|over) (?:the |his |her |my )?"
    at = [f for f in slots.night.feeds if re.search(rf"{begins}{re.escape(f.name.lower())}\b", slots.said.lower)]
    return slots.night.feeds_named(slots.said.heard.text) or tuple(at)


def whole_feed(slots: Slots) -> Quantity | None:
    """ "And once it's all in?", after what was had so far: the whole of the feed that is on by the log."""
    state = slots.night.state
    if "whole_feed" not in slots.carried or state is None or state.limit is None or slots.get("volume") is not None:
        return None
    slots.worked_out |= {"whole_feed", "volume"}  # of this turn alone
    whole: Quantity = slots.fill("volume", state.limit, "feed log")
    return whole
