"""What is doubted before it is written in the log: told as several, by two people, of another, to come, a slip."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from decimal import Decimal
from functools import cache
from itertools import pairwise

from assistant.actions import Turn
from assistant.asked.held_against import DECIMAL_SLIPS, WITH_ITS_UNIT, rates_of_plan, volumes_of_plan
from assistant.clauses.false_starts import broken_off, may_be_the_rate
from assistant.follow.turns import pattern
from assistant.hear import hear
from assistant.night import Night, feed_rate, feed_volume
from assistant.numbers.number_pairs import beside
from assistant.numbers.said import Said, Spoken, said
from assistant.slots import Ask, Slots
from assistant.told.act_times import KIND, Done
from assistant.told.acts import act_named, acts_told, of_another, with_parts
from knowledge.library import table
from rules.clock import midnight
from rules.feed_state import Event
from rules.quantity import Quantity
from rules.slip import slip

HALF_AS_MUCH_AGAIN = Decimal("1.5")
MOST_FLUSHED = 4  # times the ordered flush: more is asked about
SEVERAL = (r"each", r"apiece", r"both times", r"twice", r"before and after", r"(?:two|three|2|3) times")
TELLS = r"says?|said|telling|tells|reckons?|thinks?|swears?|claims?|according to"
TWO_TELL = re.compile(
    rf"\b(?:{TELLS})\b.*\b(?:but|or|while|whereas|and|though)\b.*\b(?:{TELLS}|heard|half|quarter)\b"
)


def check_told(told: Said, kind: str) -> None:
    """What was not done, what was of somebody else, and what two people tell otherwise is not written."""
    if pattern("not_done").search(told.lower):
        raise Ask("what", code="log_not_done")
    beside_it = pattern("beside_an_event").search(told.lower) if not told.spoken else None
    if beside_it and (act := act_named(said(hear(told.lower[: beside_it.start()])))):
        what = table("sentences_en")["log"]["kinds"].get(KIND.get(act) or STARTS.get(act, ""), act)
        raise Ask("start", code="log_act_time", what=what)  # "just before the news": at what time was that?
    if of_another(told) and kind in ("symptom", "vomited") and not acts_told(told):
        raise Ask("what", code="log_of_another")
    if not beside("to_be_put").search(told.lower) and (TWO_TELL.search(told.lower) or _one_or_the_other(told)):
        raise Ask("start", code="log_two_times")


def _one_or_the_other(told: Said) -> bool:
    """ "At eight, or half eight": two times of day and nothing but an "or" between them."""
    clocks = [s.amount for s in told.spoken if s.reading("clock")]
    between = (told.heard.tokens[one.end : other.start] for one, other in pairwise(clocks))
    return any("or" in words[:2] and set(words) <= OR for words in between)


STARTS = {"on": "feed_started", "hang": "feed_started", "off": "stopped"}
OR = frozenset({",", "or", "maybe", "perhaps", "possibly", "at", "about", "was", "it", "more", "like"})


def one_or_several(turn: Turn, events: list[Event]) -> None:
    """ "Flushed before and after, 30 each": told as several, and their times are not told; ask."""
    flushes = sum(event.kind == "flushed" for event in events)
    if (len(events) == 1 or flushes == 1) and turn.said.has(*SEVERAL) and not turn.question.follows:
        amounts = [s.amount.text for s in turn.said.spoken]
        raise Ask("which_number", code="several", numbers=", ".join(amounts) or turn.said.heard.text)


def nothing_left_out(turn: Turn, events: list[Event], alone: bool) -> None:
    """Nothing told is dropped silently: a number that could not be read, an act that the words name and that none of
    the entries is, and (where one act is told `alone`) a time beside the one it was written with."""
    if turn.question.follows:
        return
    told = turn.said
    if told.heard.unread:
        raise Ask("which_number", code="unread", unread=", ".join(told.heard.unread))
    begun = [s.amount for s in told.spoken if broken_off(s.roles) and may_be_the_rate(s.amount, turn.night)]
    if begun:
        raise Ask("which_number", code="unclaimed_entry", numbers=", ".join(amount.text for amount in begun))
    kinds = {event.kind for event in events} | ({"vomited"} if any(e.kind == "symptom" for e in events) else set())
    kinds |= {"vomited"} if of_another(told) else set()
    if any(kind not in kinds and named(kind).search(told.lower) for kind in table("acts_en")["named"]):
        raise Ask("what", code="several_acts")
    if not alone:
        return
    times = [s for s in told.spoken if s.reading("clock") and s.roles.get("noise", 0.0) <= NOISE]
    led = [s for s in times if re.search(r"\b(?:at|from|since)$", s.before)]
    lengths = [s for s in told.spoken if s.amount.readings[0].kind == "time" and events[0].kind in AT_ONCE]
    at_now = all(event.at == turn.night.now for event in events)
    others = [s for s in times if not _is_now(s, turn.night.now)]
    if len(led) > len({event.at for event in events}) or (at_now and (others or lengths) and not told.has(*JUST_NOW)):
        raise Ask("which_number", code="unclaimed_entry", numbers=", ".join(s.amount.text for s in (*times, *lengths)))


def _is_now(spoken: Spoken, now: datetime) -> bool:
    """ "Sick at 9:15", told at a quarter past nine."""
    reading = spoken.reading("clock")
    return reading is not None and (int(reading.value) - now.hour * 60 - now.minute) % 720 == 0


NOISE = 0.9  # a number whose noise is above this is not meant
AT_ONCE = ("flushed", "poured", "vomited", "symptom", "medicine_given", "set_changed", "feed_started")
JUST_NOW = ("just now", "right now", "this minute")


@cache
def named(kind: str) -> re.Pattern[str]:
    """By which words a message plainly tells an act of that kind, in whatever grammar."""
    return re.compile(with_parts(table("acts_en")["named"][kind]))


def check_slips(events: list[Event], night: Night, slots: Slots) -> None:
    """A rate or an amount that is ten times what the plan orders, or far from all of it, is asked about before it is
    written down."""
    if slots.confirmed or night.plan is None:
        return
    for event in events:
        if event.kind in ("feed_started", "rate_changed", "resumed") and event.rate is not None:
            _rate_slipped(event, event.rate, night)
        if event.kind in ("feed_started", "poured") and event.volume is not None:
            _too_much_hung(event.volume, night)
        if event.kind in ("stopped", "given") and event.volume is not None:
            _too_much_given(event, event.volume, night)
        flush = night.plan.flushes.volume
        if event.kind == "flushed" and event.volume is not None and flush is not None:
            code = slip(event.volume, flush, kit_highest=None)
            if code in (None, "other", "impossible"):  # no sum's bounds are a flush's
                code = "other" if event.volume > flush * MOST_FLUSHED else None
            _ask(code, "volume", event.volume, flush)


def _rate_slipped(event: Event, said: Quantity, night: Night) -> None:
    """Against the feed's own rate; where it is not plain which feed it is, against every rate of the plan."""
    own = feed_rate_of(event, night)
    rates = rates_of_plan(night) if own is None else [own]
    highest = night.plan.equipment.pump_highest_rate if night.plan is not None else None
    codes = {rate: slip(said, rate, kit_highest=highest) for rate in rates}
    if not rates or said in rates:
        return
    slipped = next((rate for rate in rates if codes[rate] in WITH_ITS_UNIT), None)
    nearest = slipped if slipped is not None else min(rates, key=lambda rate: abs(rate - said))
    far = all(_far_off(said, rate, night) for rate in rates)
    _ask(codes[nearest] or ("other" if far else None), "rate", said, nearest)


def _too_much_hung(said: Quantity, night: Night) -> None:
    """More than any feed of the plan and than its bag: a slip of one of them, or above all of the day's feeds."""
    volumes = volumes_of_plan(night)
    fed = [volume for volume in map(feed_volume, night.feeds) if volume is not None]
    if not fed or said <= max(volumes):
        return
    slipped = next((v for v in fed if slip(said, v) in DECIMAL_SLIPS), None)
    nearest = slipped if slipped is not None else max(fed)
    code = slip(said, nearest) if slipped is not None else None
    _ask(code or ("other" if said > max(sum(fed[1:], fed[0]), max(volumes)) * FAR else None), "volume", said, nearest)


def _too_much_given(event: Event, said: Quantity, night: Night) -> None:
    """Of a feed by syringe or gravity: ten times as much as ordered, or half as much again."""
    feed = next((f for f in night.feeds if f.name == event.feed and f.method != "pump"), None)
    ordered = feed_volume(feed) if feed is not None else None
    if ordered is None or said <= ordered:
        return
    code = slip(said, ordered)
    code = code if code in DECIMAL_SLIPS else "other" if said > ordered * HALF_AS_MUCH_AGAIN else None
    _ask(code, "volume", said, ordered)


def _ask(code: str | None, slot: str, said: Quantity, planned: Quantity) -> None:
    if code is not None:
        factor = (said / planned).to("").magnitude
        raise Ask("which_number", code=f"slip_{code}", slot=slot, said=said, planned=planned, factor=factor)


FAR = 2  # times beyond the plan's lowest or highest rate


def _far_off(rate: Quantity, ordered: Quantity, night: Night) -> bool:
    """ "Seven oh five" taken for a rate of 705: hardly what the pump was set to."""
    limits = night.plan.limits if night.plan is not None else None
    low = limits.lowest_rate if limits is not None and limits.lowest_rate is not None else ordered
    high = limits.highest_rate if limits is not None and limits.highest_rate is not None else ordered
    return bool(rate * FAR < low or rate > high * FAR)


def feed_rate_of(event: Event, night: Night) -> Quantity | None:
    """What the plan orders for the feed of an entry, or for the one that is on then."""
    if event.feed is not None:
        named = next((f for f in night.feeds if f.name == event.feed), None)
        return feed_rate(named) if named is not None and named.method != "syringe" else None
    rate: Quantity | None = night.plan_of_feed(event.at)["plan_rate"]
    return rate if any(f.method != "syringe" for f in night.feeds) else None


def to_come(one: Done, night: Night) -> bool:
    """ "At half eleven tonight", said at ten: not yesterday's half eleven, and still to come."""
    if one.act.day not in ("tonight", "today") or one.act.clock is None:
        return False
    return yesterdays(one.at, one.act.day, night.now)


def yesterdays(at: datetime, day: str | None, now: datetime) -> bool:
    """Is the time that was found one of the day before, where "tonight" or "today" was said? (After midnight the
    evening before is still tonight.)"""
    noon = now.replace(hour=12, minute=0, second=0, microsecond=0)
    if now < noon:
        return at < noon - timedelta(days=1)
    return at < (noon if day == "tonight" else midnight(now))
