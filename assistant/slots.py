"""Station 5: each amount to its slot; what is missing is asked, what is left over is said or asked about.

A slot is filled from what was just said, else from the conversation, else from the feed log, else from the care plan;
the calculators' files in gather/ say in which order. Nothing is ever filled by a guess.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.night import Night
from assistant.numbers.no_start import of_no_start
from assistant.numbers.said import Said, Spoken
from assistant.numbers.share_out import reading_for, share_out
from assistant.numbers.wants import Ask, Used, Want, measure
from rules.quantity import is_amount, number, qty, unit_of

NEAR_IT = 4  # times
ONLY_A_START = ("start",)
MOST_NUMBERS = 14  # more numbers than any feed has: asked about, not shared out


class Slots:
    """The slots of one question while they are being filled."""

    def __init__(
        self, said: Said, night: Night, carried: Mapping[str, Used] | None = None, favours: str | None = None
    ) -> None:
        self.said, self.night = said, night
        self.carried = dict(carried or {})
        self.favours = favours  # the slot that was asked for: a bare number is meant for it
        self.used: dict[str, Used] = {}
        self.spoken: dict[str, Spoken] = {}
        self.worked_out: set[str] = set()  # made of what was said: made anew when that is put right
        self.counted: set[str] = set()  # slots whose number was changed by the words beside it, as they say
        self.remarks: list[str] = []
        self.confirmed = False  # a doubtful number was asked about and said again
        self.feed_meant: str | None = None  # known by an amount or hour of its own, where none was named
        self.as_it_ran = False  # the rate told is the one it wrongly ran at: held against no order
        self.defers = False  # the words themselves ask for what is the care team's to decide

    # -- what was said ---------------------------------------------------------------------------------------------

    def assign(self, **wants: Want) -> None:
        """Share the numbers out among the slots so that the words speak best for the whole of it."""
        if len(self.said.spoken) > MOST_NUMBERS:
            raise Ask("which_number", numbers=", ".join(s.amount.text for s in self.said.spoken[:3]) + " ...")
        wants = {n: self._bare_time(n, w) for n, w in wants.items()}
        open_wants = {n: w for n, w in wants.items() if n not in self.spoken}
        claimed = {id(s) for s in self.spoken.values()}
        free = [s for s in self.said.spoken if id(s) not in claimed]
        for name, spoken in share_out(open_wants, free, self.night, self.favours).items():
            if wants[name].roles == ONLY_A_START and of_no_start(spoken, self.said.heard, asked=self.favours == name):
                raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)
            self.spoken[name] = spoken
            value = self._value(name, wants[name], spoken)
            self.used[name] = Used(value, "question", spoken.amount.text, spoken.amount.in_words)

    def _bare_time(self, name: str, want: Want) -> Want:
        """ "And for eight?", after six and a half hours: a bare number is of the unit of before, if near it."""
        before = self.carried.get(name) if want.kind == "time" and name == self.favours else None
        if before is None or not is_amount(before.value) or any(s.reading("time") for s in self.said.spoken):
            return want
        told = number(before.value, unit_of(before.value))
        return replace(want, bare=True, least=told / NEAR_IT, most=told * NEAR_IT)

    def _value(self, name: str, want: Want, spoken: Spoken) -> Any:
        reading = reading_for(want, spoken, name, self.favours)
        assert reading is not None
        if want.kind == "time" and reading.kind == "number":
            return qty(reading.value, unit_of(self.carried[name].value))
        return reading if want.kind == "clock" else measure(want.kind, reading, self.night)

    # -- where else a value may come from --------------------------------------------------------------------------

    def has(self, name: str) -> bool:
        return name in self.used

    def get(self, name: str) -> Any:
        """The slot's value as said now or earlier in this conversation, else None."""
        if name in self.used:
            return self.used[name].value
        if name in self.carried:
            self.used[name] = self.carried[name]
            return self.used[name].value
        return None

    def fill(self, name: str, value: Any, origin: str, words: str = "") -> Any:
        """Fill a slot from the plan, the log, the clock, a standard, or what was said. None stays unfilled."""
        if value is not None and name not in self.used:
            self.used[name] = Used(value, origin, words)
            if origin == "question":
                self.worked_out.add(name)
        return self.used[name].value if name in self.used else None

    def need(self, name: str, asks: str | None = None, **facts: Any) -> Any:
        """The slot's value, or the question for it."""
        value = self.get(name)
        if value is None:
            raise Ask(asks or name, **facts)
        return value

    def instant(self, name: str, when: str, day: str | None = None, *, other_days: bool = True) -> datetime | None:
        """A clock slot as an instant, on the day given, else (`other_days`) on the day word nearest to it."""
        value = self.get(name)
        if value is None or isinstance(value, datetime):
            return value
        day = day or (self.day(name) if other_days else None)
        if when == "past" and day == "tomorrow":
            day = None  # "opened at noon, good until when tomorrow?"
        found = resolve(value, self.night.now, when, day)
        used, before = self.used[name], self.carried.get(name)
        if value.unit == "hand" and before is not None and isinstance(before.value, datetime) and not day:
            if before.value.minute and name in ("start", "finish"):
                raise Ask(name)  # after half ten: quarter to ten, or to eleven?
            found = [_of_that_hour(value, before.value)]
        if (
            before is not None
            and isinstance(before.value, datetime)
            and used.origin == "question"
            and value.unit == "12h"
        ):
            same_half = _nearest(value, before.value)  # "by eight instead?": the same half of the day as before
            other_day = [at for at in found if at.hour == same_half.hour] if day else []  # "and tomorrow at eight?"
            found = (other_day or found) if day else [same_half]
        self.used[name] = Used(found[0], used.origin, used.words, used.in_words)
        return found[0]

    def day(self, name: str | None = None) -> str | None:
        """The day word of the message ("tomorrow", "sunday"): the only one, or the one by a slot's number."""
        days = [s for s in self._days() if s.roles.get("end_asked", 0.0) <= 0.9]
        by = self.spoken.get(name) if name else None
        if by is not None:
            days = [d for d in days if not self._of_another(d, by) and d.roles.get("of_clocks", 0.0) <= 0.9]
        if by is not None and len(days) > 1:
            days = [min(days, key=lambda d: _gap(d, by))]
        values = {str(d.amount.readings[0].value) for d in days}
        return values.pop() if len(values) == 1 else None

    def _days(self) -> list[Spoken]:
        dated = (s for s in self.said.spoken if s.amount.readings[0].kind in ("day", "date"))
        return [s for s in dated if s.roles.get("noise", 0.0) <= 0.9]

    def day_of_end(self) -> str | None:
        """The day on which it is asked to end ("what time is he done tomorrow?"); None where none is told."""
        ends = [str(s.amount.readings[0].value) for s in self._days() if s.roles.get("end_asked", 0.0) > 0.9]
        return ends[0] if len(ends) == 1 else None

    def _of_another(self, day: Spoken, mine: Spoken) -> bool:
        """Does the day word stand beside another time of day: "opened at 2, still ok at 8 tonight"?"""
        beside = [s for s in self.said.spoken if s is not mine and s.reading("clock") and _gap(day, s) == 0]
        return bool(beside) and _gap(day, mine) > 0

    # -- what is left over -----------------------------------------------------------------------------------------

    def settle(self) -> None:
        """Clock times that no instant was made of play no part: they are left over, not used."""
        for name in [n for n, u in self.used.items() if isinstance(u.value, Reading)]:
            del self.used[name]
            self.spoken.pop(name, None)

    def unused(self) -> list[Spoken]:
        taken = {id(s) for s in self.spoken.values()}
        return [
            s for s in self.said.spoken if id(s) not in taken and s.amount.readings[0].kind not in ("day", "date")
        ]

    def unclaimed(self) -> list[Spoken]:
        """What is left over, without what another ask of the same message counted with."""
        first = {s.amount.text: s for s in reversed(self.said.spoken)}  # what the asks share stands first in each
        counted = self.night.counted
        return [s for s in self.unused() if s.amount.text not in counted or first[s.amount.text] is not s]


def _gap(one: Spoken, other: Spoken) -> int:
    """How many words stand between two numbers."""
    first, last = sorted((one.amount, other.amount), key=lambda a: a.start)
    return last.start - first.end


def _of_that_hour(reading: Reading, before: datetime) -> datetime:
    """ "And quarter to?", after five o'clock: quarter to five, and not to the hour that it is now."""
    hour = before.replace(minute=0, second=0, microsecond=0)
    tries = [hour + timedelta(hours=shift, minutes=int(reading.value) % 60) for shift in (-1, 0, 1)]
    return min(tries, key=lambda at: (abs(at.replace(tzinfo=None) - before.replace(tzinfo=None)), tries.index(at) == 0))


def _nearest(reading: Reading, before: datetime) -> datetime:
    """The instant of a twelve-hour reading that lies nearest to an earlier one."""
    midnight = before.replace(hour=0, minute=0, second=0, microsecond=0)
    minutes = [int(reading.value) % 720 + 720 * half for half in (-1, 0, 1, 2)]
    return min(
        (midnight + timedelta(minutes=m) for m in minutes),
        key=lambda at: abs(at.replace(tzinfo=None) - before.replace(tzinfo=None)),
    )
