"""Which feed of the plan is meant by the hour at which it is told to begin ("she'll go on at half ten")."""

from __future__ import annotations

import re

from assistant.hear.clock import resolve
from assistant.household.care_plan import Feed
from assistant.message import Reading
from assistant.slots import Slots

PLAINLY = 0.9  # how plainly a number is said to be of something else
CLOSE = 60  # minutes: so near to its ordered start it is that feed's, if no other is as near
FURTHER, APART = 120, 120  # minutes: so far off it is too, if every other is this much further off
HALF_DAY, DAY = 720, 1440
BEGUN = re.compile(
    r"\b(?:start\w*|began|begun|hook\w*|hung|hang|(?:went|go|goes|going|be|put) on|goes up|kicked off|put (?:\w+ )?on"
    r"|press\w* go|plug\w*|connect\w*|clip\w*|attach\w*"
    r"|got (?:\w+ )?(?:going|on|started)(?! again)|getting (?:\w+ )?(?:going|on)(?! again))\b|^on at$"
)


HOOKED = re.compile(r"\b(?:un)?(?:hook|plug|clip)\w*|\bpump\b")  # no feed by syringe


def by_its_start(slots: Slots) -> Feed | None:
    """The one feed that is due near the start told, on this half of the day; None where two are, or none is.

    A feed that only the other half of the day has there makes it unsure.
    """
    told = [(c, s.before) for s in slots.said.spoken
            if (BEGUN.search(s.before) or s.after.startswith("start")) and s.roles.get("noise", 0.0) <= PLAINLY
            and (c := s.reading("clock")) is not None and c.unit != "hand"]
    if len(told) != 1:
        return None
    reading, before = told[0]
    feeds = [f for f in slots.night.feeds if f.start and not (f.method == "syringe" and HOOKED.search(before))]
    around = DAY if reading.unit == "24h" else HALF_DAY
    close = [f for f in feeds if _gap(_minutes(f), int(reading.value), around) <= CLOSE]
    nearest = _the_nearest(slots, reading, feeds)
    if nearest is not None:
        rivals = [f for f in close if f is not nearest]
        return nearest if not rivals or len(rivals) < len(close) else None
    return close[0] if len(close) == 1 and _by_day(slots, reading, close[0]) <= FURTHER else None


def _the_nearest(slots: Slots, told: Reading, feeds: list[Feed]) -> Feed | None:
    """Somewhat late or early, and every other feed far from it: by the clock of this day, not of half a day."""
    gaps = sorted((_by_day(slots, told, feed), i) for i, feed in enumerate(feeds))
    if not gaps or gaps[0][0] > FURTHER or (len(gaps) > 1 and gaps[1][0] - gaps[0][0] < APART):
        return None
    return feeds[gaps[0][1]]


def _by_day(slots: Slots, told: Reading, of: Feed) -> int:
    at = resolve(told, slots.night.now, "nearest", slots.day())[0]
    return _gap(_minutes(of), at.hour * 60 + at.minute, DAY)


def _minutes(of: Feed) -> int:
    return 0 if of.start is None else of.start.hour * 60 + of.start.minute


def _gap(one: int, other: int, around: int) -> int:
    return min((one - other) % around, (other - one) % around)


def due_now(slots: Slots) -> Feed | None:
    """ "Pouring it up now": the one feed of the plan that is due within the hour, or was due just before."""
    present = slots.night.now.hour * 60 + slots.night.now.minute
    if slots.night.events and slots.night.state is not None and slots.night.state.running:
        return None  # what is poured is for the one that is on
    timed = [(f, (_minutes(f) - present) % DAY) for f in slots.night.feeds if f.start]
    due = [f for f, ahead in timed if ahead <= CLOSE or DAY - ahead <= LATE]
    return due[0] if len(due) == 1 and due[0].method != "syringe" else None


def begun_now(slots: Slots) -> Feed | None:
    """ "If I start now, when does it end?": the one feed that is due within the hour, or was due in the last one."""
    present = slots.night.now.hour * 60 + slots.night.now.minute
    near = [f for f in slots.night.feeds if f.start and _gap(_minutes(f), present, DAY) <= CLOSE]
    return near[0] if len(near) == 1 else None


LATE = 30  # minutes
