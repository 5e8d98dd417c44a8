"""What a question looks for among the numbers that were said, what it found, and how a reading becomes a quantity."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from assistant.message import Reading
from assistant.night import Night
from rules.quantity import Quantity, qty


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
    if reading.kind == "share" and reading.unit:
        raise Ask("volume")  # "half a bag of water", where a share of water is what could be meant
    return qty(reading.value, as_here(reading.unit, night))


def as_here(unit: str, night: Night) -> str:
    """A pint is a fifth larger where the plan is not of the United States."""
    abroad = night.plan is not None and night.plan.units != "us"
    return "pint_uk" if unit == "pint" and abroad else unit


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
