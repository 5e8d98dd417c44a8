"""The care plan as everything else sees it: frozen, amounts as Pint quantities over Decimal, missing is None.

Amounts come in one unit a measure: mL, mL/h, kcal/mL, g/L, kg, g (powder), cm, Fr, drop/mL, %. Lengths of time
keep the unit they were written in (min, h or day). A free-water share is a Decimal from 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from assistant.household.plan_checks import date_warnings
from assistant.household.plan_keys import JEJUNAL_ROUTES

if TYPE_CHECKING:       # Pint takes half a second to load: only building a plan needs it
    from rules.quantity import Quantity

INFANT_UNTIL_YEARS = 1
CHILD_UNTIL_YEARS = 18


@dataclass(frozen=True)
class Person:
    nickname: str | None = None
    born: date | None = None
    age_group: str | None = None            # infant, child, adult: as written; see age_group_on
    weight: Quantity | None = None
    notes: frozenset[str] = frozenset()

    def age_group_on(self, on: date) -> str | None:
        """infant (under 1 year), child (under 18), adult; from the day of birth, else as written, else None."""
        if self.born is None:
            return self.age_group
        years = on.year - self.born.year - ((on.month, on.day) < (self.born.month, self.born.day))
        if years < INFANT_UNTIL_YEARS:
            return "infant"
        return "child" if years < CHILD_UNTIL_YEARS else "adult"

    def is_infant(self, on: date) -> bool:
        """Under 12 months by the day of birth; without one, as written. Unknown is not an infant."""
        return self.age_group_on(on) == "infant"


@dataclass(frozen=True)
class Tube:
    kind: str | None = None
    size: Quantity | None = None            # Fr
    placed: date | None = None
    outside_length: Quantity | None = None  # cm
    balloon_water: Quantity | None = None   # mL


@dataclass(frozen=True)
class Recipe:
    """One mix of a powder: so much powder (g) and water (mL) make so much formula (mL)."""

    powder: Quantity | None = None
    scoop: Quantity | None = None           # g in one level scoop
    water: Quantity | None = None
    makes: Quantity | None = None


@dataclass(frozen=True)
class Formula:
    energy: Quantity                        # kcal/mL
    name: str | None = None
    protein: Quantity | None = None         # g/L
    free_water: Decimal | None = None       # share of the volume, 0 to 1
    container: Quantity | None = None       # mL
    form: str | None = None
    recipe: Recipe | None = None


@dataclass(frozen=True)
class Feed:
    """One feed of the day. A pump feed holds a rate, or a volume and a time; any other holds a volume."""

    name: str
    method: str                             # pump, gravity, syringe
    start: time | None = None
    rate: Quantity | None = None            # mL/h
    volume: Quantity | None = None          # mL
    over: Quantity | None = None            # h or min


@dataclass(frozen=True)
class CatchUp:
    until: time | None = None
    highest_rate: Quantity | None = None


@dataclass(frozen=True)
class Limits:
    lowest_rate: Quantity | None = None
    highest_rate: Quantity | None = None
    family_may_change_rate: bool | None = None      # None: not written, which is no permission
    catch_up: CatchUp | None = None                 # None: ask the care team
    hang_time: Quantity | None = None


@dataclass(frozen=True)
class RateStep:
    """One step of an ordered increase: from this instant (in the plan's zone) the pump runs at this rate."""

    start: datetime
    rate: Quantity


@dataclass(frozen=True)
class Flushes:
    volume: Quantity | None = None
    when: frozenset[str] = frozenset()      # before_feed, after_feed, after_medicine
    every: Quantity | None = None           # while a feed runs
    medicines_a_day: int | None = None


@dataclass(frozen=True)
class Equipment:
    bag: Quantity | None = None
    priming_volume: Quantity | None = None
    pump_accuracy: Quantity | None = None   # %
    pump_step: Quantity | None = None
    pump_highest_rate: Quantity | None = None
    battery_lasts: Quantity | None = None
    battery_at: Quantity | None = None
    drop_factor: Quantity | None = None     # drop/mL
    syringe: Quantity | None = None


@dataclass(frozen=True)
class Supplies:
    containers: int | None = None
    bags: int | None = None
    counted: date | None = None
    reorder_lead: Quantity | None = None


@dataclass(frozen=True)
class Contacts:
    nurse_line: str | None = None
    supplier: str | None = None
    emergency: str | None = None


@dataclass(frozen=True)
class CarePlan:
    """One person's plan, as written by the care team. See read_plan below."""

    route: str
    timezone: ZoneInfo
    formula: Formula
    feeds: tuple[Feed, ...]
    units: str | None = None                # us, metric
    issued: date | None = None
    review_by: date | None = None
    water_goal: Quantity | None = None      # all fluid a day
    person: Person = field(default_factory=Person)
    tube: Tube = field(default_factory=Tube)
    limits: Limits = field(default_factory=Limits)
    steps: tuple[RateStep, ...] = ()
    flushes: Flushes = field(default_factory=Flushes)
    equipment: Equipment = field(default_factory=Equipment)
    supplies: Supplies = field(default_factory=Supplies)
    contacts: Contacts = field(default_factory=Contacts)
    path: Path | None = None

    @property
    def ordered_steps(self) -> tuple[tuple[datetime, Quantity], ...]:
        """The written increase as the sums take it: each rate with the instant from which it runs."""
        return tuple((step.start, step.rate) for step in self.steps)

    @property
    def jejunal(self) -> bool:
        """The tube ends beyond the stomach."""
        return self.route in JEJUNAL_ROUTES

    def is_infant(self, on: date) -> bool:
        return self.person.is_infant(on)

    def feed(self, name: str) -> Feed | None:
        """The feed of that name, upper or lower case alike; None where there is none."""
        wanted = name.strip().casefold()
        return next((feed for feed in self.feeds if feed.name.casefold() == wanted), None)


def read_plan(source: Path | str) -> CarePlan:
    """The care plan in a file, or in a text of several lines.

    A Path, or a string of one line, is the place of a file; a string with a line break is the plan itself.
    Raises PlanFaults with every fault at once; nothing is defaulted and nothing is mended.
    """
    from assistant.household.plan_file import care_plan
    from assistant.household.plan_reader import plan_bytes, read_values
    if isinstance(source, Path) or "\n" not in source:
        path = Path(source)
        return care_plan(read_values(plan_bytes(path), str(path)), path)
    return care_plan(read_values(source, "care plan"), None)


def warnings(plan: CarePlan, today: date) -> tuple[str, ...]:
    """Codes of the one-line warnings that this plan needs on that day; past_review, not_yet_issued."""
    return date_warnings(plan.issued, plan.review_by, today)
