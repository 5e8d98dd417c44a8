"""Which feed is meant, by the hour at which it was begun."""

from __future__ import annotations

import re
from datetime import timedelta

from assistant.hear.clock import resolve
from assistant.household.care_plan import Feed
from assistant.message import Reading
from assistant.slots import Slots

CLOSE = 60  # minutes
JUST = timedelta(hours=3)  # an hour so near now is this one, and not the one of the other half of the day
PLAINLY = 0.9  # how plainly a number is said to be another thing's
HALF_A_DAY, A_DAY = 720, 1440  # minutes
BEGUN = re.compile(
    r"\b(?:start\w*|began|begun|hook\w*|hung|hang|went on|goes on|going on|kicked off|put (?:\w+ )?on|press\w* go"
    r"|got (?:\w+ )?(?:going|on|started)(?! again)|getting (?:\w+ )?(?:going|on)(?! again))\b"
)


def by_its_start(slots: Slots) -> Feed | None:
    """ "I started at ten past ten": the one feed of the plan that is due within that time of it."""
    told = [c for s in slots.said.spoken
            if BEGUN.search(s.before) and s.roles.get("noise", 0.0) <= PLAINLY
            and (c := s.reading("clock")) is not None and c.unit != "hand"]
    if len(told) != 1:
        return None
    minutes, period = _of_the_day(told[0], slots)
    near = [f for f in slots.night.feeds if f.start and _off(f.start.hour * 60 + f.start.minute - minutes, period)]
    return near[0] if len(near) == 1 else None


def _off(minutes: int, period: int) -> bool:
    return min(minutes % period, -minutes % period) <= CLOSE


def _of_the_day(told: Reading, slots: Slots) -> tuple[int, int]:
    """The hour in minutes, and after how many it comes again: it is not plain which half of the day "ten" is in."""
    if told.unit == "24h":
        return int(told.value), A_DAY
    at = resolve(told, slots.night.now, "nearest", None)[0]
    if slots.day() in (None, "today", "tonight") and abs(at - slots.night.now) <= JUST:
        return at.hour * 60 + at.minute, A_DAY
    return int(told.value), HALF_A_DAY


def due_now(slots: Slots) -> Feed | None:
    """ "Pouring it up now": the one feed of the plan that is due within the hour, or was due just before."""
    present = slots.night.now.hour * 60 + slots.night.now.minute
    if slots.night.events and slots.night.state is not None and slots.night.state.running:
        return None  # what is poured is for the one that is on
    timed = [(f, (f.start.hour * 60 + f.start.minute - present) % A_DAY) for f in slots.night.feeds if f.start]
    due = [f for f, ahead in timed if ahead <= CLOSE or A_DAY - ahead <= LATE]
    return due[0] if len(due) == 1 and due[0].method != "syringe" else None


LATE = 30  # minutes
