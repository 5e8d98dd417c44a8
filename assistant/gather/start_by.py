"""When to start so as to be done by a time."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from assistant.gather._relative import by_so_much
from assistant.gather._shared import NOT_USUAL, NOW, OVER, RATE, feed, rate, said_volume, volume_of, which_feed
from assistant.gather._when import now
from assistant.hear.clock import resolve
from assistant.household.care_plan import Feed
from assistant.message import Reading
from assistant.night import feed_rate, feed_time
from assistant.numbers.number_pairs import beside, is_chore
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.slots import Slots
from rules.clock import before, earlier
from rules.quantity import Quantity

ENDS = r"(?:off|by|done|over|until|till|finish\w*|end\w*|through)"
BEGINS = re.compile(rf"\b(?:start|begin|hook|hang|put|go|goes)\w*(?: (?!{ENDS}\b)[\w']+)*$")  # nearest the day word
TODAY = ("today", "tonight")
NEAR = 180  # minutes
GONE_BY = (
    r"should (?:\w+ ){0,3}have (?:been )?(?:start|begun|gone|hung|put|hook)\w*",
    "was (?:i|it|that|he|she) (?:meant|supposed)",
)
USUAL = timedelta(hours=6)  # nearer than this to the plan's start, on the wall, a start is the usual one


def gather(slots: Slots) -> Mapping[str, Any]:
    lead = _lead(slots)
    slots.assign(
        finish=Want("clock", ("finish", "start")),
        volume=Want("volume", ("total", "left", "hung")),
        rate=RATE,
        over=OVER,
        now=NOW,
    )
    _done_by(slots)
    _the_hour_asked_for(slots)
    by_so_much(slots)
    _start_or_end(slots)
    of = feed(slots)
    if slots.get("finish") is None:
        _keep_the_day(slots)
        raise Ask("finish")
    begins = _start_day(slots)
    if begins is None:
        _finish(slots)
    finish = slots.get("finish")
    if lead is not None and isinstance(finish, datetime):
        slots.used["finish"] = Used(earlier(finish, lead), "question")
    over, volume = slots.get("over"), said_volume(slots, of)
    of = _whose_end(slots) if of is None and over is None and volume is None else of
    if over is None and volume is None and of is not None:
        volume = slots.fill("volume", volume_of(slots, of), "care plan")
        if of.method == "syringe":
            over = slots.fill("over", feed_time(of), "care plan")
    if over is None and volume is None:
        raise which_feed(slots)
    runs_at = None if over is not None else rate(slots)
    if over is None and runs_at is None and of is not None and not slots.said.has(*NOT_USUAL):
        runs_at = slots.fill("rate", feed_rate(of), "care plan")  # of the feed that its end tells
    if over is None and runs_at is None:
        raise Ask("rate")
    length: Any = over
    if volume is not None and runs_at is not None:
        length = (volume / runs_at).to("h")
    if begins is not None:
        _finish_from(slots, begins, length)
    else:
        if "finish" in slots.spoken and "finish" not in slots.carried and lead is None:
            _other_half(slots, length)
        _tonight(slots, length)
    return {
        "finish": slots.get("finish"),
        "volume": None if over is not None else volume,
        "rate": runs_at,
        "over": over,
        "now": now(slots),
    }


def _whose_end(slots: Slots) -> Feed | None:
    """ "By seven in the morning", of a feed that is not named: the one feed whose own hours fit that end.

    "The latest I can hook him up": none by syringe.
    """
    finish, hooked = slots.get("finish"), slots.said.has(*HOOKED)
    if not isinstance(finish, datetime) or slots.night.feeds_named(slots.said.heard.text):
        return None
    feeds = [f for f in slots.night.feeds if not (hooked and f.method == "syringe")]
    fits = [f for f in feeds if (length := feed_time(f)) is not None and _near(f, earlier(finish, length))]
    return fits[0] if len(fits) == 1 and fits[0].method == "pump" else None


HOOKED = (r"(?:un)?hook\w*", r"(?:un)?plug\w*", r"(?:dis)?connect\w*", r"on the pump", r"attach\w*", r"(?:un)?clip\w*")


def _near(of: Feed, begins: datetime) -> bool:
    if of.start is None:
        return False
    off = (begins.hour * 60 + begins.minute - of.start.hour * 60 - of.start.minute + 720) % 1440 - 720
    return abs(off) <= NEAR


BY, DONE_BY = (" by", " before", " till", " until"), ("in by", "done by", "finished by", "over by", "off by")


def _done_by(slots: Slots) -> None:
    """ "All in by half past four, as we have a train at quarter past five": the hour by which it is to be done."""
    taken = slots.spoken.get("finish")
    if taken is None or f" {taken.before}".endswith(BY):
        return
    by = [s for s in slots.unused() if s.reading("clock") and f" {s.before}".endswith(BY)]
    if len(by) == 1 and (by[0].roles.get("noise", 0.0) < ENDS_PLAINLY or by[0].before.endswith(DONE_BY)):
        slots.spoken["event"], slots.spoken["finish"] = taken, by[0]
        slots.used["finish"] = Used(by[0].reading("clock"), "question", by[0].amount.text)


def _start_or_end(slots: Slots) -> None:
    """ "On at nine, in the car by half five": where the time taken as the end is said to be the start, it is asked."""
    taken = slots.spoken.get("finish")
    if taken is None or taken.roles.get("start", 0.0) <= taken.roles.get("finish", 0.0):
        return
    if taken.after.startswith("start"):
        raise Ask("which_number", code="unclaimed", numbers=taken.amount.text)  # "with a nine o'clock start?"
    others = [s for s in slots.unused() if s.reading("clock") and s.roles.get("finish", 0.0) >= ENDS_PLAINLY]
    if others:
        raise Ask("which_number", numbers=f"{taken.amount.text}, {others[0].amount.text}")


ENDS_PLAINLY = 0.9


def _other_half(slots: Slots, length: Quantity) -> None:
    """ "Off by 6:45", asked at six in the evening of a nine hour feed: the half of the day that can still be met."""
    finish, reading, used = slots.get("finish"), slots.spoken["finish"].reading("clock"), slots.used["finish"]
    if reading is None or reading.unit != "12h":
        return
    other = finish + timedelta(hours=12)  # the same time on the wall
    late = before(earlier(finish, length), now(slots))
    if not late:
        if _usual(slots, other, length) and not _usual(slots, finish, length):
            slots.used["finish"] = Used(other, used.origin, used.words)  # the half that the plan's own start fits
        return
    if slots.said.has(*GONE_BY) or (_usual(slots, finish, length) and not _usual(slots, other, length)):
        return  # "when should that have started?", or the feed's own hours: it is late already, and that is said
    if not before(earlier(other, length), now(slots)):
        slots.used["finish"] = Used(other, used.origin, used.words)


def _usual(slots: Slots, finish: datetime, length: Quantity) -> bool:
    """Would it start near the feed's ordered hour?"""
    of = feed(slots)
    return of is not None and _near(of, earlier(finish, length))


def _tonight(slots: Slots, length: Quantity) -> None:
    """ "What time tonight?", asked after midnight: a start that has gone by is meant for the night to come."""
    finish, used = slots.get("finish"), slots.used["finish"]
    if slots.said.has("tonight") and before(earlier(finish, length), now(slots)):
        slots.used["finish"] = Used(finish + timedelta(days=1), used.origin, used.words)  # the same time on the wall


def _lead(slots: Slots) -> Quantity | None:
    """ "Half an hour before that", "a quarter of an hour to wash up": so much ahead of the one time named."""
    one_clock = sum(s.reading("clock") is not None for s in slots.said.spoken) == 1
    for spoken in slots.said.spoken:
        reading, after = spoken.reading("time"), spoken.after
        chore = one_clock and is_chore(spoken.amount, spoken.before, after) and not beside("beforehand").search(after)
        if reading is not None and beside("told_why").search(after):
            spoken.roles.update({"noise": 2.0, "over": 0.0})  # "half an hour before, hence it has to be over at 13:30"
        elif reading is not None and (chore or after.startswith(("before", "ahead of"))):
            slots.spoken["lead"] = spoken
            slots.used["lead"] = Used(measure("time", reading, slots.night), "question", spoken.amount.text)
            found: Quantity = slots.used["lead"].value
            return found
    return None


def _days(slots: Slots) -> list[Spoken]:
    return [s for s in slots.said.spoken if s.amount.readings[0].kind in ("day", "date")]


def _the_hour_asked_for(slots: Slots) -> None:
    """ "We leave 8.20 tomorrow", to "by what time?": the one hour of the answer, told of somebody's going or coming."""
    clocks = [s for s in slots.said.spoken if s.amount.readings[0].kind == "clock"]
    if slots.favours != "finish" or "finish" in slots.used or len(clocks) != 1 or slots.said.has(r"since"):
        return
    (one,) = clocks
    told = f"{one.before} {one.after}"
    if one.roles.get("event", 0.0) > ENDS_PLAINLY or beside("departs").search(told):
        slots.spoken["finish"] = one
        slots.used["finish"] = Used(one.reading("clock"), "question", one.amount.text)


def _keep_the_day(slots: Slots) -> None:
    """The one day told with what has no hour yet ("before we leave on Saturday"): it is the answer's day too."""
    days = {str(s.amount.readings[0].value) for s in _days(slots) if not BEGINS.search(s.before)} - {*TODAY}
    if len(days) == 1:
        slots.used["finish_day"] = Used(days.pop(), "question")


def _start_day(slots: Slots) -> str | None:
    """The day named for the start, where none is named for the finish: "begin Saturday, off by nine"."""
    days = _days(slots)
    starts = [s for s in days if BEGINS.search(s.before)]
    if len(starts) != 1 or len(days) > 1 or not isinstance(slots.get("finish"), Reading):
        return None
    day = str(starts[0].amount.readings[0].value)
    return None if day in TODAY else day


def _finish(slots: Slots) -> datetime | None:
    """The finish on the day named for it; "today" and "tonight" are about the start: the next such time."""
    days = [s for s in _days(slots) if not BEGINS.search(s.before)]
    by = slots.spoken.get("finish")
    if by is not None and days:
        days = [min(days, key=lambda d: abs(d.amount.start - by.amount.start))]
    day = str(days[0].amount.readings[0].value) if days else None
    if day is None and "finish_day" in slots.carried and slots.favours == "finish":
        day = str(slots.get("finish_day"))
    return slots.instant("finish", "future", None if day in TODAY else day, other_days=False)


def _finish_from(slots: Slots, day: str, length: Quantity) -> None:
    """The finish whose start falls on the day named, near the feed's usual start; asked for where that leaves two."""
    reading, present, used = slots.get("finish"), slots.night.now, slots.used["finish"]
    first = resolve(reading, present, "future", day)
    tries = [at for found in first for at in (found, found + timedelta(days=1))]  # the same time on the wall
    wanted = first[0].date()
    fits = [at for at in tries if earlier(at, length).date() == wanted]
    of = feed(slots)
    if len(fits) > 1 and of is not None and of.start is not None:
        usual = datetime.combine(wanted, of.start, tzinfo=present.tzinfo)
        fits = [at for at in fits if abs(earlier(at, length) - usual) < USUAL]
    if len(fits) != 1:
        raise Ask("finish")
    slots.used["finish"] = Used(fits[0], used.origin, used.words)
