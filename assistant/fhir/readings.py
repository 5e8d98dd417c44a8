"""The amounts of an order in the units that were meant, and its free text held against them. No choice is made here."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.fhir.free_text import InWords, numbers_in
from assistant.fhir.order import Order
from assistant.fhir.units import Measured, exact, unit_of
from assistant.household.plan_words import words as plan_words

Answers = Mapping[str, Any]


def chosen(amount: Measured, answers: Answers) -> str:
    """The unit that was meant, as code of UCUM."""
    return str(answers.get(f"unit {amount.where}", amount.readings[0]))


def daily_ml(order: Order, answers: Answers) -> Decimal | None:
    """The most that the order lets be given in a day, in mL."""
    return order.daily.ml(chosen(order.daily, answers)) if order.daily else None


def energies(order: Order) -> dict[str, Decimal]:
    """Every reading of the energy that can be true, as a plan writes it -> kcal/mL; the coded ones first."""
    found: dict[str, Decimal] = {}
    span = plan_words()["possible"]["energy"]
    low, high = (Decimal(span[end].split()[0]) for end in ("low", "high"))

    def add(text: str, value: Decimal) -> None:
        if low <= value <= high and all(abs(value - other) > Decimal("1e-9") for other in found.values()):
            found[text] = value

    amount = order.energy
    for reading in amount.readings if amount else ():
        assert amount is not None
        add(amount.plan(reading), amount.kcal_per_ml(reading))
        if amount.unit(reading).get("small"):
            add(f"{exact(amount.kcal_per_ml(reading, thousandth=True))} kcal/mL",
                amount.kcal_per_ml(reading, thousandth=True))
    ounce = Decimal(unit_of("energy", "kcal/[foz_us]")["per_ml"])
    for said in worded(order):
        if said.measure == "energy_ml":
            add(f"{exact(said.value)} kcal/mL", said.value)
        elif said.measure == "energy_oz":
            add(f"{exact(said.value)} kcal/fl oz", said.value / ounce)
    return found


def worded(order: Order) -> list[InWords]:
    """Every number in the order's free text and in the formula's name."""
    return [number for text in (*order.words, order.product) for number in numbers_in(text)]


def in_codes(said: InWords, order: Order, answers: Answers) -> bool:
    """Whether a number of the text stands in the coded part, too."""
    feeds = order.feeds
    if said.measure.startswith("energy"):
        energy = answers.get("energy") or next(iter(energies(order)), "")
        return bool(energy) and Decimal(str(energy).split()[0]) == said.value
    rates = {feed.rate.ml(chosen(feed.rate, answers)) for feed in feeds if feed.rate}
    volumes = {feed.volume.ml(chosen(feed.volume, answers)) for feed in feeds if feed.volume}
    volumes |= {most for most in (daily_ml(order, answers),) if most is not None}
    ounce = Decimal(unit_of("volume", "[foz_us]")["ml"])
    clocks = {Decimal(clock.hour * 60 + clock.minute) for feed in feeds for clock in
              (*feed.clocks, *((feed.start,) if feed.start else ()))}
    held: dict[str, set[Decimal]] = {
        "rate": rates, "ml": volumes, "oz": {volume / ounce for volume in volumes}, "clock": clocks,
        "every": {Decimal(feed.every) / 60 for feed in feeds if feed.every},
    }
    return said.value in held.get(said.measure, set())
