"""Station 5: each amount to its slot; what is missing is asked, what is left over is said or asked about.

A slot is filled from what was just said, else from the conversation, else from the feed log, else from the care plan;
the calculators' files in gather/ say in which order. Nothing is ever filled by a guess.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from assistant.hear.clock import resolve
from assistant.message import Reading
from assistant.night import Night
from assistant.said import Said, Spoken
from rules.quantity import Quantity, qty

FITS = 0.2  # a bare number needs at least this much said for a role
OF_THE_BAG = ("full", "gone", "left", "empty", "used", "remaining", "of the bag", "still", "in the bag", "of it left")
MOST_NUMBERS = 14  # more numbers than any feed has: asked about, not shared out
MOST_BESIDE_A_CLOCK = 400  # a number above this that can be a clock time is one
NEAR_NOW = 60  # minutes: further from the clock than this, "it's two fifty" does not say what time it is
WITH_UNIT = 1.0  # what a spoken unit is worth beside the words around it


class Ask(Exception):
    """A question back to the person: the slot asked for, and facts for the sentence."""

    def __init__(self, asks: str, code: str | None = None, **facts: Any) -> None:
        super().__init__(asks)
        self.asks, self.code, self.facts = asks, code or asks, facts


@dataclass(frozen=True)
class Used:
    """A value that went into the answer, and where it came from."""

    value: Any
    origin: str  # question | care plan | feed log | clock | standard
    words: str = ""  # as it was said
    in_words: bool = False


@dataclass(frozen=True)
class Want:
    """What a question looks for among the numbers: a kind, the roles that fit it best, and the slot's bounds."""

    kind: str  # volume | rate | time | clock | count | number | energy | mass | share | any kind
    roles: tuple[str, ...] = ()
    bare: bool = True  # may a number without a unit fill it?
    least: Decimal = Decimal(0)
    most: Decimal | None = None
    shy: float = 0.0  # held back by this much where another slot wants the number too
    told: bool = False  # only where the words name it: a unit alone is not enough
    planned: Any = None  # the plan's value: a number that says the same is likely meant for this slot


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
        self.remarks: list[str] = []
        self.confirmed = False  # a doubtful number was asked about and said again
        self.defers = False  # the words themselves ask for what is the care team's to decide

    # -- what was said ---------------------------------------------------------------------------------------------

    def assign(self, **wants: Want) -> None:
        """Share the numbers out among the slots so that the words speak best for the whole of it."""
        if len(self.said.spoken) > MOST_NUMBERS:
            raise Ask("which_number", numbers=", ".join(s.amount.text for s in self.said.spoken[:3]) + " ...")
        names = [n for n in wants if n not in self.spoken]
        best: tuple[float, dict[str, int]] = (0.0, {})
        for total, chosen in self._shares(names, wants, 0, frozenset()):
            if total > best[0]:
                best = (total, chosen)
        for name, index in best[1].items():
            spoken = self.said.spoken[index]
            self.spoken[name] = spoken
            value = self._value(name, wants[name], spoken)
            self.used[name] = Used(value, "question", spoken.amount.text, spoken.amount.in_words)

    def _shares(
        self, names: list[str], wants: Mapping[str, Want], at: int, taken: frozenset[int]
    ) -> Iterator[tuple[float, dict[str, int]]]:
        if at == len(names):
            yield 0.0, {}
            return
        name = names[at]
        yield from self._shares(names, wants, at + 1, taken)
        claimed = {id(s) for s in self.spoken.values()}
        for index, spoken in enumerate(self.said.spoken):
            if index in taken or id(spoken) in claimed:
                continue
            score = self._fit(name, wants[name], spoken)
            if score > 0:
                for rest, chosen in self._shares(names, wants, at + 1, taken | {index}):
                    yield score + rest, {name: index, **chosen}

    def _fit(self, name: str, want: Want, spoken: Spoken) -> float:
        """How well a number fits a slot; 0 where it cannot."""
        reading = _reading(want, spoken, name, self.favours)
        if reading is None or not _within(want, reading):
            return 0.0
        words = max((spoken.roles.get(role, 0.0) for role in want.roles), default=0.0)
        off_clock = not self._could_be_now(spoken)  # "its two fifty" at seven in the evening is no time of day
        if off_clock and want.roles == ("clock_now",):
            return 0.0
        rival = max(
            (
                s
                for role, s in spoken.roles.items()
                if role not in want.roles and not (off_clock and role == "clock_now")
            ),
            default=0.0,
        )
        meant = name == self.favours and words >= rival - 0.6  # "and at 60?" is a rate, whatever came last
        asked = (1.0 if meant else 0.0) + self._same_as_planned(want, reading)
        noise = spoken.roles.get("noise", 0.0)
        if (noise > 0.9 and noise >= words - 0.6 and not asked) or (want.told and words < 0.35 and not asked):
            return 0.0
        if (reading.kind == "percent" and want.kind == "volume" and not spoken.after.startswith(OF_THE_BAG)) or (
            reading.kind == "share" and want.kind == "volume" and words < 0.35 and not asked
        ):
            return 0.0  # "84 % water" is no amount in the bag
        if reading.kind == want.kind or (want.kind == "volume" and reading.kind in ("share", "percent")):
            plain = (
                WITH_UNIT if reading is spoken.amount.readings[0] or asked else 0.2
            )  # "one ten" is a number first, a clock time second
            return plain + words - 0.3 * max(rival, 0.0) + asked - want.shy
        if (
            want.kind in ("rate", "volume")
            and spoken.reading("clock") is not None
            and Decimal(reading.value) > MOST_BESIDE_A_CLOCK
            and words < 1.5
        ):
            return 0.0  # "at nine fifteen" is a time, not 915
        fit = words + asked + self._likely(want, reading) - want.shy
        return fit if fit >= FITS and (words >= rival - 0.6 or asked) else 0.0

    def _could_be_now(self, spoken: Spoken) -> bool:
        reading = spoken.reading("clock")
        if reading is None:
            return False
        here = self.night.now.hour * 60 + self.night.now.minute
        return min((int(reading.value) - here) % 720, (here - int(reading.value)) % 720) <= NEAR_NOW

    def _same_as_planned(self, want: Want, reading: Reading) -> float:
        if want.planned is None or reading.kind in ("share", "percent", "clock"):
            return 0.0
        try:
            return 0.6 if measure(want.kind, reading, self.night) == want.planned else 0.0
        except (TypeError, ValueError):
            return 0.0

    def _likely(self, want: Want, reading: Reading) -> float:
        """A little weight from what the plan makes likely for a number without a unit; never enough by itself."""
        plan, value = self.night.plan, Decimal(reading.value)
        if want.kind == "rate" and plan:
            rates = [f.rate.m_as("mL/h") for f in plan.feeds if f.rate is not None]
            if any(Decimal("0.5") <= value / r <= Decimal("1.7") for r in rates):
                return 0.3
            return 0.0
        if want.kind == "volume":
            return 0.35 if value >= 150 else 0.1 if value >= 20 else -0.4 if value >= 10 else -0.8
        return 0.0

    def _value(self, name: str, want: Want, spoken: Spoken) -> Any:
        reading = _reading(want, spoken, name, self.favours)
        assert reading is not None
        if want.kind == "clock":
            return reading
        return measure(want.kind, reading, self.night)

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
        """Fill a slot from the plan, the log, the clock or a standard. None stays unfilled."""
        if value is not None and name not in self.used:
            self.used[name] = Used(value, origin, words)
        return self.used[name].value if name in self.used else None

    def need(self, name: str, asks: str | None = None, **facts: Any) -> Any:
        """The slot's value, or the question for it."""
        value = self.get(name)
        if value is None:
            raise Ask(asks or name, **facts)
        return value

    def instant(self, name: str, when: str, day: str | None = None) -> datetime | None:
        """A clock slot as an instant; two fair instants are asked about only where the words leave both open."""
        value = self.get(name)
        if value is None or isinstance(value, datetime):
            return value
        found = resolve(value, self.night.now, when, day or self.day(name))
        used, before = self.used[name], self.carried.get(name)
        if (
            before is not None
            and isinstance(before.value, datetime)
            and used.origin == "question"
            and value.unit == "12h"
        ):
            found = [_nearest(value, before.value)]  # "by eight instead?": the same half of the day as before
        self.used[name] = Used(found[0], used.origin, used.words, used.in_words)
        return found[0]

    def day(self, name: str | None = None) -> str | None:
        """The day word of the message ("tomorrow", "sunday"): the only one, or the one by a slot's number."""
        days = [s for s in self.said.spoken if s.amount.readings[0].kind in ("day", "date")]
        by = self.spoken.get(name) if name else None
        if by is not None and len(days) > 1:
            days = [
                min(days, key=lambda d: min(abs(d.amount.start - by.amount.end), abs(by.amount.start - d.amount.end)))
            ]
        values = {str(d.amount.readings[0].value) for d in days}
        return values.pop() if len(values) == 1 else None

    # -- what is left over -----------------------------------------------------------------------------------------

    def settle(self) -> None:
        """Clock times that no instant was made of play no part: they are left over, not used."""
        for name in [n for n, u in self.used.items() if isinstance(u.value, Reading)]:
            del self.used[name]
            self.spoken.pop(name, None)

    def unused(self) -> list[Spoken]:
        taken = {id(s) for s in self.spoken.values()}
        return [s for s in self.said.spoken if id(s) not in taken and s.amount.readings[0].kind not in ("day", "date")]


def _nearest(reading: Reading, before: datetime) -> datetime:
    """The instant of a twelve-hour reading that lies nearest to an earlier one."""
    midnight = before.replace(hour=0, minute=0, second=0, microsecond=0)
    minutes = [int(reading.value) % 720 + 720 * half for half in (-1, 0, 1, 2)]
    return min(
        (midnight + timedelta(minutes=m) for m in minutes),
        key=lambda at: abs(at.replace(tzinfo=None) - before.replace(tzinfo=None)),
    )


def _reading(want: Want, spoken: Spoken, name: str = "", favours: str | None = None) -> Reading | None:
    kinds = {"volume": ("volume", "share", "percent"), "clock": ("clock",)}.get(want.kind, (want.kind,))
    found = spoken.reading(*kinds)
    bare = spoken.reading("number")
    if (
        found is None
        and want.kind == "clock"
        and name == favours
        and bare is not None
        and 1 <= bare.value <= 12
        and bare.value == int(bare.value)
    ):
        return Reading("clock", int(bare.value) * 60, "12h")  # "no, eight": where a time was asked for or corrected
    return found or (bare if want.bare and want.kind != "clock" else None)


def _within(want: Want, reading: Reading) -> bool:
    if not isinstance(reading.value, Decimal):
        return True
    return reading.value >= want.least and (want.most is None or reading.value <= want.most)


def measure(kind: str, reading: Reading, night: Night) -> Any:
    """A reading as a quantity. A bare number has the kind's everyday unit (mL, mL/h); a share is of its thing."""
    if reading.kind == "number":
        unit = {"volume": "mL", "rate": "mL/h", "time": "h", "energy": "kcal", "mass": "kg"}.get(kind)
        return qty(reading.value, unit) if unit else Decimal(reading.value)
    if reading.kind in ("share", "percent") and kind == "volume":
        part = Decimal(reading.value) / (100 if reading.kind == "percent" else 1)
        whole = size_of("bag" if reading.unit == "%" else reading.unit, night)
        if whole is None:
            raise Ask("volume")
        return (whole * part).to("mL")
    if reading.kind in ("count", "day", "date", "clock"):
        return reading.value
    return qty(reading.value, reading.unit)


def size_of(thing: str, night: Night) -> Quantity | None:
    """How much a whole bag, container or syringe holds by the plan."""
    plan = night.plan
    if plan is None:
        return None
    if thing == "container":
        return plan.formula.container
    if thing == "syringe":
        return plan.equipment.syringe
    if thing in ("bag", ""):
        return plan.formula.container if plan.formula.form == "closed_bag" else plan.equipment.bag
    return None
