"""What an entry for the log holds: when it was done, the amount, the rate, the feed; of one act or of several."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime, timedelta

from assistant.actions import Turn
from assistant.actions.log_doubts import check_told, to_come, yesterdays
from assistant.actions.log_meant import of_the_feed_on, of_what_kind, since_when
from assistant.follow.turns import pattern
from assistant.gather._shared import RATE
from assistant.hear import hear
from assistant.hear.clock import resolve
from assistant.household.care_plan import Feed
from assistant.message import Reading
from assistant.night import Night
from assistant.numbers.said import Said, said
from assistant.numbers.wants import measure, size_of
from assistant.numbers.weighed_roles import as_the_words_say
from assistant.slots import Ask, Slots, Want
from assistant.told.act_times import KIND, Done, done, untimed
from assistant.told.acts import act_named, acts_told, several_named
from assistant.told.acts_again import BACK, as_logged, beside_an_entry, beside_the_feed, for_the_last
from assistant.told.acts_fit import Act
from assistant.told.acts_places import STILL
from assistant.told.fed_told import due_a_while_ago, of_a_meal
from knowledge.library import table
from rules.clock import earlier, later
from rules.feed_state import Event
from rules.quantity import Quantity, qty

VOMITED = re.compile(r"vomit|threw up|thrown up|throwing up|sick|puk|brought up|spat|spit ?up|posset|barf")
RATED = ("feed_started", "resumed", "rate_changed")
FEEDS = ("feed_started", "poured")
UNMEASURED = ("paused", "set_changed", "rate_changed")
HALF_A_DAY = timedelta(hours=12)
NEAR_ORDERED = 120  # minutes from a feed's ordered start: a start told then is that feed's
NAMED = 0.5  # how plainly the words name a bare number as a rate


def slots_told(turn: Turn) -> Slots:
    """The numbers of one entry. Beside other kinds than a change of rate, a rate is only what the words name as one."""
    told = replace(turn.said, spoken=as_the_words_say(turn.said.spoken))
    slots = Slots(told, turn.night, turn.question.carried, turn.question.favours)
    slots.assign(
        start=Want("clock", ("start", "opened", "last_done", "clock_now", "finish")),
        now=Want("clock", ("clock_now",), shy=0.1),
        until=Want("clock", ("finish",), shy=0.5),
        ago=Want("time", ("ago", "off"), bare=False),
        volume=Want("volume", ("hung", "given", "left", "flush", "total")),
        rate=RATE,
    )
    rate = slots.spoken.get("rate")
    if rate is not None and rate.reading("rate") is None and rate.roles.get("rate", 0.0) < NAMED and (
        turn.question.name != "log_rate" and not turn.question.follows
    ):
        del slots.spoken["rate"], slots.used["rate"]
    return slots


def acts_of(turn: Turn, kind: str) -> list[Event]:
    """The entries of a message that tells its acts plainly: several, or the one of this kind; else empty."""
    night, told = turn.night, turn.said
    if (rest := pattern("still_off").sub("", told.heard.text)) != told.heard.text and rest.strip():
        told = said(hear(rest))  # "paused at ten, not back on yet"
    if not turn.question.follows:
        check_told(told, kind)
    told = beside_an_entry(for_the_last(told), night.events)
    acts = beside_the_feed(of_what_kind(acts_told(told), night), told, night.events)
    acts = as_logged(of_the_feed_on(since_when(acts, told, night), told, night), told, night.events)
    if not acts and several_named(told) and len(told.spoken) > 1 and not turn.question.follows:
        raise Ask("what", code="several_acts")  # one of them alone would be written with another's time
    found = _done(acts, night)
    if any(one.kind == "rate_changed" and one.act.rate is None for one in found):
        raise Ask("rate")  # "halved the rate at one"
    if any(to_come(one, night) for one in found):
        raise Ask("start", code="log_future")
    if len(acts) > 1 and not found:
        if len(missing := untimed(acts)) == 1:
            raise Ask("start", code="log_act_time", what=_named(acts[missing[0]].what))
        raise Ask("what", code="several_acts")  # no act is written without the others
    if len(acts) == 1 and not found and isinstance(acts[0].until, Reading):  # an end that does not fit its beginning
        raise Ask("which_number", code="unclaimed_entry", numbers=", ".join(s.amount.text for s in told.spoken))
    alone = len(found) == 1 and found[0].kind != "given"
    if alone and not (turn.said.spoken and (found[0].kind == kind or acts[0].what in ("on", "off", "hang"))):
        return []
    return [event for one in found for event in _entries(one, night, told)]


def _done(acts: tuple[Act, ...], night: Night) -> tuple[Done, ...]:
    """The acts with their instants: of the feed that is on, or of an earlier one that is told later."""
    state = night.state
    going = state is not None and state.started is not None and state.stopped_at is None
    last = max((e.at for e in night.events), default=None)
    found = done(acts, night.now, going, last)
    if going and state is not None and state.running and (turned := _turned_round(acts)):
        found = done(turned, night.now, going, last) or found
    if going and found and state is not None and state.started is not None and found[0].at < state.started:
        found = done(acts, night.now, False, last)
    return found


def _turned_round(acts: tuple[Act, ...]) -> tuple[Act, ...]:
    """ "Resumed at 3. Had to stop at 2:40": of a feed that the log has running, the stop came first."""
    if len(acts) < 2 or acts[0].what not in ("resume", "on") or acts[1].what not in ("off", "pause"):
        return ()
    first, other = acts[0].clock, acts[1].clock
    if first is None or other is None or acts[1].until or acts[1].lasted:
        return ()
    return (replace(acts[1], linked=False), replace(acts[0], what="resume"), *acts[2:])


def _named(what: str) -> str:
    kinds: dict[str, str] = table("sentences_en")["log"]["kinds"]
    return kinds[{"on": "feed_started", "hang": "feed_started", "off": "stopped"}.get(what) or KIND[what]]


def _entries(one: Done, night: Night, told: Said) -> list[Event]:
    """The entries of one act; a whole feed by syringe or gravity has a start and an end."""
    act, kind = one.act, one.kind
    words = " ".join(told.heard.tokens[act.start : act.end])
    volume = _amount(act.volume, night)
    if kind == "given":
        return _given(one, night, words, volume)
    if kind == "flushed" and volume is None and night.plan is not None:
        volume = night.plan.flushes.volume
    feed = feed_started(night, words, one.at) or feed_started(night, told.heard.text, one.at) if kind in FEEDS else None
    rate = qty(act.rate.value, act.rate.unit) if act.rate is not None and kind in RATED else None
    kept = volume if kind not in UNMEASURED else None
    return [Event(one.at, kind, kept, rate, feed.name if feed else None)]


def _given(one: Done, night: Night, words: str, volume: Quantity | None) -> list[Event]:
    """A feed by syringe or gravity that was given: its start, and its end with what went in."""
    feed = feed_started(night, words, one.at)
    water = night.plan.flushes.volume if night.plan is not None else None
    if (feed is None or feed.method == "pump") and water is not None and volume == water:
        return [Event(one.at, "flushed", volume)]  # "25 down the tube", where that is the flush of the plan
    if feed is None or feed.method == "pump":
        raise Ask("what", code="log_which_feed")
    begun, over = one.at, one.over or one.at
    halves = one.act.clock is not None and one.act.clock.unit == "12h" and feed.start is not None
    if halves and not _apart(begun, _minutes(feed)) and _apart(begun - HALF_A_DAY, _minutes(feed)):
        begun, over = begun - HALF_A_DAY, over - HALF_A_DAY  # "breakfast at 8", told in the evening
    volume = volume or (feed.volume if one.act.whole else None)
    if volume is None:
        raise Ask("volume", code="log_how_much")
    return [Event(begun, "feed_started", feed.volume, None, feed.name), Event(over, "stopped", volume, None, feed.name)]


def _minutes(feed: Feed) -> int:
    return feed.start.hour * 60 + feed.start.minute if feed.start is not None else 0


def _amount(reading: Reading | None, night: Night) -> Quantity | None:
    if reading is None or reading.kind != "count":
        return None if reading is None else measure("volume", reading, night)
    one = size_of(reading.unit, night)
    if one is None:
        raise Ask("volume")
    return (one * reading.value).to("mL")


def feed_started(night: Night, text: str, at: datetime) -> Feed | None:
    """The feed that started or was poured: named, the only one, or the one ordered for about that time."""
    text = text if night.feeds_named(text) else of_a_meal(text)
    if night.feeds_named(text) or len(night.feeds) == 1:
        return night.feed_for(text)
    near = [f for f in night.feeds if f.start is not None and _apart(at, _minutes(f))]
    return near[0] if len(near) == 1 else None


def _apart(at: datetime, ordered: int) -> bool:
    return abs((at.hour * 60 + at.minute - ordered + 720) % 1440 - 720) <= NEAR_ORDERED


def when_done(slots: Slots) -> datetime:
    """When it happened: the time said, so long ago, or now. A time still to come is asked about."""
    ago = slots.get("ago")
    at = slots.instant("start", "past")
    if at is None and ago is not None and slots.said.has(*BACK):
        at = earlier(slots.night.now, ago)
    if at is None:
        return slots.night.now
    if at > slots.night.now and slots.day() in ("tonight", "today") and slots.spoken.get("start") is not None:
        reading = slots.spoken["start"].reading("clock")  # "tonight", said after midnight, is the evening before
        at = resolve(reading, slots.night.now, "past", None)[0] if reading is not None else at
    if at > slots.night.now + timedelta(minutes=1):
        raise Ask("start", code="log_future")
    if slots.day() in ("tonight", "today") and "start" in slots.spoken and yesterdays(at, slots.day(), slots.night.now):
        raise Ask("start", code="log_future")
    return at


GAVE = ("took", "had", "gave", "given", "done", "went down", "fed", "got", "managed", "put", "finished", "taken")
NOW_SAID = (r"now", r"just")


def events_told(kind: str, at: datetime, slots: Slots, turn: Turn) -> list[Event]:
    """The entries of a message that tells one act of this kind, done at that time."""
    night, volume, rate = turn.night, slots.get("volume"), slots.get("rate")
    gave = kind == "feed_started" and volume is not None and slots.said.has(*GAVE)
    feed = feed_started(night, turn.said.heard.text, at)
    name = feed.name if feed else None
    if gave and night.unknown_feed(of_a_meal(turn.said.heard.text)) is not None:
        raise Ask("what", code="log_no_such_feed", feeds=", ".join(night.feed_names))  # "gave 200 at breakfast"
    if gave and feed is not None and feed.method != "pump":
        due_a_while_ago(night, name, timed=bool({"start", "ago"} & slots.spoken.keys()) or slots.said.has(*NOW_SAID))
        return [Event(at, "feed_started", feed.volume, None, name), Event(at, "stopped", volume, None, name)]
    spoken = slots.spoken.get("volume")
    if kind in ("stopped", "paused") and spoken is not None and spoken.after.split(" ")[0] in STILL:
        # "30 left in the bag" never went in
        raise Ask("which_number", code="unclaimed_entry", numbers=spoken.amount.text)
    if kind == "symptom" and (VOMITED.search(turn.said.heard.text.lower()) or act_named(turn.said) == "vomit"):
        return [Event(at, "vomited", volume, None, None)]
    if kind == "paused" and "until" in slots.used:
        until = slots.instant("until", "past")
        if until is not None and at < until <= night.now:
            return [Event(at, "paused"), Event(until, "resumed")]
    off = slots.get("ago")
    if kind in ("paused", "stopped") and off is not None and not slots.said.has(*BACK):
        again = later(at, off)  # "stopped at ten for 20 minutes"
        return [Event(at, "paused"), *([Event(again, "resumed")] if again <= night.now else [])]
    if kind == "flushed" and volume is None and night.plan is not None:
        volume = night.plan.flushes.volume
    named = name if kind in ("feed_started", "poured") else None
    return [
        Event(
            at, kind, volume if kind not in UNMEASURED else None, rate if kind in RATED else None, named
        )
    ]
