"""How far behind a paused or missed feed is. Whether to make it up is the care team's to say."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from assistant.gather._by_when import by_when
from assistant.gather._cut_short import cut_short
from assistant.gather._missed import MISSED_WHOLE, ended_by_log, of_several, without_a_time
from assistant.gather._off_by_log import ended_early, off_until_on_again, on_again, past_its_end
from assistant.gather._pauses import AGAIN, beside_other_times, off_till_now
from assistant.gather._shared import NOW, RATE, check_entry, feed, ordered_rate, rate, volume_of
from assistant.gather._stops_ahead import stops_ahead
from assistant.gather._when import PAUSED, end_while_it_runs, ends_after, now, planned_start
from assistant.gather._whole_and_part import part_of_a_whole
from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.night import feed_rate, feed_time, feed_volume
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.numbers.weighed_roles import WHOLE
from assistant.slots import Slots
from rules.clock import between, earlier, later
from rules.quantity import Quantity, qty

RAN_SLOW = (
    r"(?:ran|run|running|went|going|dropped|was|set|put|turned|slipped|down) (?:\w+ ){0,2}(?:at|on|to)",
    r"by (?:mistake|accident)",
    r"slow\w*",
    r"instead of",
    r"wrong rate",
)
FASTER = ("quicker", "faster", "speed (?:it|him|her|things|the)", "turn (?:it|the rate|the pump) up", "squeeze|double")
LATER_ON = ("tomorrow", "next (?:day|feed|time|night)", "later (?:on|today)")  # when it is made up: the team's to say
OF_A_PAUSE = (r"paus\w*", r"breaks?", r"gaps?", r"interrupt\w*", r"hold-?ups?")  # of a feed that is over
RATE_TO_COME = (
    "from now on",
    "from here on",
    "from here",
    r"(?:at|to|on) [\d.]+(?: ?mls?(?: ?(?:/|an|per) ?h\w*)?)? (?:to|and|so \w+) (?:\w+ )?(?:catch|make|get)",
    r"(?:doubl|tripl|rais|bump|increas|crank|push|turn|jack)\w* (?:it|him|her|the rate|the pump|up)",
)


def missed_time(slots: Slots) -> Any:
    """The time it was off: said, the sum of the log's pauses, or from one clock time to another."""
    if (off := off_until_on_again(slots)) is not None:
        return off
    off = slots.get("off")
    if off is not None:
        return _with_further(slots, off)
    begun, ended = _from_before(slots) or slots.instant("off_from", "past"), None
    if begun is not None:
        ended = ends_after(slots, "off_to", begun + timedelta(minutes=1)) or on_again(slots, begun) or now(slots)
        return _with_further(slots, slots.fill("off", between(begun, ended), "question"))
    state = slots.night.state
    over = state is not None and state.stopped_at is not None and not slots.said.has(*OF_A_PAUSE)
    if state is not None and not over and state.paused_total.magnitude > 0:
        return slots.fill("off", state.paused_total.to("h"), "feed log")
    return None


def _from_before(slots: Slots) -> datetime | None:
    """ "From 1 until 3:30 a.m.": the half of the day that is said with the end is the beginning's too."""
    first, last = slots.get("off_from"), slots.get("off_to")
    if not (isinstance(first, Reading) and isinstance(last, Reading)) or (first.unit, last.unit) != ("12h", "24h"):
        return None
    end = slots.instant("off_to", "past")
    assert end is not None
    used = slots.used["off_from"]
    begun = resolve(first, end - timedelta(minutes=1), "past", None)[0]
    slots.used["off_from"] = Used(begun, used.origin, used.words, used.in_words)
    return begun


def _with_further(slots: Slots, off: Any) -> Any:
    """ "Half an hour for the bath and 20 minutes later on", "10 to 10.30 and again 1 to 1.20": all of it together."""
    first = slots.spoken.get("off")
    times = [s for s in slots.said.spoken if s is first or (s in slots.unused() and _is_time(s))]
    total, begun = off, None
    if first is not None and all(AGAIN.search(s.before) for s in times[1:]):
        for spoken in times:
            reading = spoken.reading("time")
            if spoken is not first and reading is not None:
                total = total + measure("time", reading, slots.night)
            slots.spoken[f"off_{spoken.amount.start}"] = spoken
    for spoken in slots.unused() if first is None else ():
        clock = spoken.reading("clock")
        if clock is None:
            continue
        if begun is None:
            begun = resolve(clock, now(slots), "past", None)[0]
        else:
            total = total + between(begun, resolve(clock, begun + timedelta(minutes=1), "future", None)[0])
            begun = None
        slots.spoken[f"off_{spoken.amount.start}"] = spoken
    if begun is not None:
        raise Ask("off")
    if total is not off:
        slots.used["off"] = Used(total.to("min"), "question")
    return slots.used["off"].value


def _is_time(spoken: Spoken) -> bool:
    return spoken.amount.readings[0].kind == "time" and spoken.roles.get("noise", 0.0) <= 0.9


def until(slots: Slots) -> datetime | None:
    """By when it must be made up: said ("to be caught up by eleven"), else the care plan's hour."""
    said = slots.spoken.get("by")
    reading = slots.get("by")
    if said is not None and isinstance(reading, Reading):
        ends = end_while_it_runs(slots, feed(slots))
        after = ends.get("planned_finish", now(slots))  # what is short comes after the feed
        at = resolve(reading, after, "future", slots.day("by"))[0]
        slots.used["by"] = Used(at, "question", said.amount.text, said.amount.in_words)
        return at
    plan = slots.night.plan
    if plan is None or plan.limits.catch_up is None or plan.limits.catch_up.until is None:
        return None
    hour = plan.limits.catch_up.until
    return resolve(Reading("clock", hour.hour * 60 + hour.minute, "24h"), slots.night.now, "future", None)[0]


def allowed(slots: Slots) -> bool:
    """May a catch-up be worked out to a rate? Not without a written one, nor for an infant, jejunal feed or insulin."""
    night = slots.night
    return bool(
        night.plan
        and night.plan.limits.catch_up
        and not night.infant
        and not night.jejunal
        and not night.noted("insulin")
    )


def _ran_until_it_stopped(slots: Slots) -> None:
    """ "It was stopped 40 minutes in and never went back on": what that gave at the feed's rate."""
    for spoken in slots.said.spoken:
        reading = spoken.reading("time")
        if reading is None or spoken.roles.get("ran", 0.0) <= 0.9:
            continue
        if (runs_at := rate(slots)) is None:
            raise Ask("rate")
        slots.spoken["ran"] = spoken
        slots.used["ran"] = Used(measure("time", reading, slots.night), "question", spoken.amount.text)
        slots.fill("given", (runs_at * slots.used["ran"].value).to("mL"), "question")


def _only_one_so_large(slots: Slots) -> Any:
    """ "It quit with only 400 in her": the one feed of the plan of which so much can have gone in; else None."""
    given, feeds = slots.get("given"), slots.night.feeds
    if given is None or any(feed_volume(f) is None for f in feeds):
        return None
    large = [f for f in feeds if feed_volume(f) > given]
    return large[0] if len(large) == 1 else None


def gather(slots: Slots) -> Mapping[str, Any]:
    if (ahead := stops_ahead(slots)) is not None:
        return {**ahead, "until": until(slots), "highest": None, "allowed": False}
    _ran_until_it_stopped(slots)
    till_now = off_till_now(slots) or beside_other_times(slots)
    rate_to_come = slots.said.has(*RATE_TO_COME)
    slots.assign(
        off=Want("time", ("off",) if rate_to_come else ("off", "over", "ago"), bare=False, told=rate_to_come),
        off_from=Want("clock", ("start", "opened", "clock_now", "ended")),
        off_to=Want("clock", ("finish",)),
        rate=RATE,
        given=Want("volume", ("given",), shy=0.2, told=True),
        missed=Want("volume", ("missed_amount", "total", "left")),
        now=NOW,
    )
    by_when(slots)
    short_of = cut_short(slots)
    slots.defers = slots.said.has(*FASTER, *LATER_ON)
    if rate_to_come:
        for kept in (slots.used, slots.spoken):
            kept.pop("rate", None)  # the rate to come is not the one at which it was missed
    of, night = feed(slots) or ended_by_log(slots) or _only_one_so_large(slots), slots.night
    plan = night.plan
    highest = plan.limits.catch_up.highest_rate if plan and plan.limits.catch_up else None
    shared = {"now": now(slots), "until": until(slots), "highest": highest, "allowed": allowed(slots)}
    if short_of is not None:
        return {**short_of, **shared}
    if (several := of_several(slots, shared)) is not None:
        return several
    if ended_early(slots):
        return without_a_time(slots, shared, volume_of(slots, of), rate(slots) or (feed_rate(of) if of else None))
    given, missed = slots.get("given"), slots.get("missed")
    off, short = till_now if till_now is not None else missed_time(slots), slots.spoken.get("missed")
    off = None if part_of_a_whole(slots) else off
    if off is not None:
        for kept in (slots.used, slots.spoken):
            kept.pop("missed", None)  # its time is counted with: an amount beside it is asked about
    runs_at = rate(slots) or (slots.fill("rate", feed_rate(of), "care plan") if of is not None else None)
    planned = volume_of(slots, of)
    if off is None and given is not None and (planned is not None or missed is not None):
        whole = missed if missed is not None else slots.fill("planned", planned, "care plan")
        return {"planned": whole, "given": given, "rate": runs_at, **shared}
    state = night.state
    by_log = state is not None and state.given is not None and not slots.said.has(*MISSED_WHOLE)
    if off is None and missed is not None and missed == planned and by_log:
        return without_a_time(slots, shared, planned, runs_at)  # "how much short of the 220 is she": the whole feed
    if off is None and missed is not None:
        check_entry(slots, "missed", missed, planned)
        return {"planned": missed, "given": qty(0, "mL"), "rate": runs_at, **shared, **end_while_it_runs(slots, of)}
    if off is None:
        return without_a_time(slots, shared, planned, runs_at)
    if runs_at is None:
        raise Ask("rate")
    if short is not None and missed == (runs_at * off).to("mL"):
        slots.spoken["short"] = short  # "off two hours, so she is 76 short": said twice
    finish = _planned_finish(slots) or end_while_it_runs(slots, of).get("planned_finish")
    if (slow := _ran_slow(slots, off, runs_at)) is not None:
        return {**slow, "planned_finish": finish, **shared}
    if state is not None and state.paused_since is not None and past_its_end(slots, (runs_at * off).to("mL")):
        return {"planned": state.limit, "given": state.given, "rate": runs_at, **shared}
    return {"missed_time": off, "rate": runs_at, "planned_finish": finish, **shared}


def _ran_slow(slots: Slots, lasted: Quantity, runs_at: Quantity) -> dict[str, Any] | None:
    """ "Ran at 60 for two hours", of 72: what is missing of the ordered rate's amount; None where the feed stood."""
    ordered = ordered_rate(slots)
    stood = slots.said.has(*PAUSED) or any(s.roles.get("off", 0.0) >= WHOLE for s in slots.spoken.values())
    if ordered is None or runs_at >= ordered or stood or "rate" not in slots.spoken or not slots.said.has(*RAN_SLOW):
        return None
    slots.fill("ordered_rate", ordered, "care plan")
    return {"planned": (ordered * lasted).to("mL"), "given": (runs_at * lasted).to("mL"), "rate": ordered}


def _planned_finish(slots: Slots) -> datetime | None:
    """When the feed would have ended had it not stopped: told, by the log, or by the plan."""
    if "planned_end" in slots.used:
        return slots.instant("planned_end", "future")
    of, state = feed(slots), slots.night.state
    if state is not None and state.running and state.ends_at is not None:
        return earlier(state.ends_at, state.paused_total)
    if state is not None and state.paused_since is not None and state.left is not None and state.rate is not None:
        return earlier(later(slots.night.now, (state.left / state.rate).to("h")), state.paused_total)
    length = feed_time(of) if of else None
    begins = planned_start(slots, of) if of else None
    return later(begins, length) if begins and length is not None else None
