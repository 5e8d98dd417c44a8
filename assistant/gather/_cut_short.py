"""A run that stopped before all of it was in: "began at five at 60, quit at three, how far short of the 900?"."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from assistant.gather._shared import feed, rate, volume_of
from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.night import feed_rate
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, measure
from assistant.slots import Slots
from rules.clock import between
from rules.quantity import qty

BEGAN = re.compile(
    r"\b(?:start\w*|beg[aiu]n\w*|beginning|on(?: it)?(?: since)?|since|hooked(?: \w+){0,2}(?: up)?|went (?:on|up)|"
    r"kicked off|set (?:it |him |her )?(?:off|going)|connected|put (?:it |him |her |them )?on)(?: it| him| her| them)?"
    r"(?: (?:at|about|around|from|since|by|just|exactly|in the \w+))*$"
)
STOPPED = re.compile(
    r"\b(?:quit|stop\w*|died|dead|packed (?:up|in)|conked(?: out)?|cut(?: \w+)? (?:off|out|short)|end(?:ed|s)?|"
    r"gave (?:up|out)|unhook\w*|unplug\w*|disconnect\w*|came (?:off|down)|(?:took|taken|take) (?:\w+ )?(?:off|down)|"
    r"finish\w*|fail\w*|shut (?:\w+ )?(?:down|off)|(?:switch|turn|knock)\w* (?:\w+ )?off|off|pulled)"
    r"(?: (?:it|him|her|them|itself|herself|himself|on \w+))?(?: (?:at|about|around|by|just|exactly))*$"
)
WENT_ON = re.compile(r"\b(?:back on|again|resum\w*|restart\w*|until|till|back up|for (?:an?|\d+|half|twenty|ten)\b|"
                     r"came back|in between|break|pause\w*)\b")
OF_ALL = re.compile(r"\b(?:short(?: of)?|shy(?: of)?|out of|of|under|below|from)(?: (?:the|his|her|my|a|full|whole))*$")
PUT_AS_A_CASE = (r"suppos\w+", r"what if", r"if (?:i|we)", r"would", r"imagine", r"say (?:i|we)")
A_MINUTE = timedelta(minutes=1)


def cut_short(slots: Slots) -> Mapping[str, Any] | None:
    """What was planned and what went in before it stopped; None where the words tell no such run, or it went on again.

    Only where no run of the log is known. mL, and the rate in mL/h; Ask where no rate is told or planned.
    """
    night, text = slots.night, slots.said.lower
    if (night.state is not None and night.state.started is not None) or WENT_ON.search(text):
        return None
    clocks = [s for s in slots.said.spoken if _clock(s) is not None]
    began = [s for s in clocks if BEGAN.search(s.before)]
    ended = [s for s in clocks if STOPPED.search(s.before) and s not in began]
    if len(clocks) != 2 or len(began) != 1 or len(ended) != 1:
        return None
    to_come = slots.said.has(*PUT_AS_A_CASE)
    last = _clock(ended[0])
    first = _clock(began[0])
    assert last is not None and first is not None
    end = resolve(last, night.now, "future" if to_come else "past", None)[0]
    start = resolve(first, end - A_MINUTE, "past", None)[0]
    _take(slots, "start", began[0], start)
    _take(slots, "ended", ended[0], end)
    of = feed(slots)
    whole = next((s for s in slots.said.spoken if OF_ALL.search(s.before) and _volume(s) is not None), None)
    planned = volume_of(slots, of)
    if whole is not None:
        told = _volume(whole)
        assert told is not None
        planned = qty(told.value, "mL") if told.kind == "number" else measure("volume", told, night)
        _take(slots, "planned", whole, planned)
    runs_at = rate(slots) or (slots.fill("rate", feed_rate(of), "care plan") if of is not None else None)
    if runs_at is None:
        raise Ask("rate")
    if planned is None:
        raise Ask("planned")
    return {"planned": planned, "given": (runs_at * between(start, end)).to("mL"), "rate": runs_at}


def _take(slots: Slots, name: str, spoken: Spoken, value: Any) -> None:
    """That number is this, whatever else it was taken for."""
    for other in [n for n, taken in slots.spoken.items() if taken is spoken]:
        slots.spoken.pop(other, None)
        slots.used.pop(other, None)
    slots.spoken[name] = spoken
    slots.used[name] = Used(value, "question", spoken.amount.text, spoken.amount.in_words)


def _clock(spoken: Spoken) -> Reading | None:
    """The hour that a number tells; a bare one up to twelve stands for an hour where a start or a stop leads to it."""
    if (told := spoken.reading("clock")) is not None:
        return told
    bare = spoken.reading("number")
    hour = bare is not None and 1 <= bare.value <= 12 and bare.value == int(bare.value)
    led = BEGAN.search(spoken.before) or STOPPED.search(spoken.before)
    return Reading("clock", int(bare.value) * 60, "12h") if bare is not None and hour and led else None


def _volume(spoken: Spoken) -> Reading | None:
    return spoken.reading("volume") or (None if _clock(spoken) is not None else spoken.reading("number"))
