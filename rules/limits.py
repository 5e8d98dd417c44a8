"""Two ranges for an amount: `possible`, outside which a calculator refuses, and `usual`, outside which a card is shown.

The ranges are data: knowledge/limits/<calculator>.toml. Both ends are inside.
"""

from __future__ import annotations

from decimal import Decimal

from knowledge.library import load
from rules.outcome import CannotAnswer
from rules.quantity import Quantity, number, qty


def within(calculator: str, **amounts: Quantity | None) -> None:
    """Refuse with `beyond_possible` for the first amount outside its possible range. None is skipped."""
    for name, amount in amounts.items():
        if amount is None:
            continue
        unit, low, high = _range(calculator, name, "possible")
        if not low <= number(amount, unit) <= high:
            raise CannotAnswer("beyond_possible", name=name, found=amount, low=qty(low, unit), high=qty(high, unit))


def usual(calculator: str, **amounts: Quantity | None) -> tuple[str, ...]:
    """Names of the amounts that are possible and yet outside what is seen at home."""
    outside = []
    for name, amount in amounts.items():
        if amount is None or "usual" not in load("limits")[calculator][name]:
            continue
        unit, low, high = _range(calculator, name, "usual")
        if not low <= number(amount, unit) <= high:
            outside.append(name)
    return tuple(outside)


def possible(calculator: str, name: str) -> tuple[Quantity, Quantity]:
    """Both ends of the possible range of one amount."""
    unit, low, high = _range(calculator, name, "possible")
    return qty(low, unit), qty(high, unit)


def _range(calculator: str, name: str, which: str) -> tuple[str, Decimal, Decimal]:
    entry = load("limits")[calculator][name]
    low, high = entry[which]
    return entry["unit"], Decimal(low), Decimal(high)
