"""What the laws are tried on: amounts of every kind, and a calculator's figure by name."""

from __future__ import annotations

from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from hypothesis import settings
from hypothesis import strategies as st

from rules.calculators import calculator
from rules.quantity import Quantity, number, qty, unit_of

CHICAGO = ZoneInfo("America/Chicago")
DUST = Decimal("1e-18")
quick = settings(max_examples=60, deadline=None)


def amounts(low: str, high: str, unit: str, places: int = 1) -> st.SearchStrategy[Quantity]:
    return st.decimals(Decimal(low), Decimal(high), places=places).map(lambda value: qty(value, unit))


volumes = amounts("1", "2500", "mL")
rates = amounts("1", "400", "mL/h")
times = amounts("0.5", "24", "h")
shares = amounts("1", "20", "%")
densities = amounts("0.5", "2", "kcal/mL", 2)
instants = st.datetimes(datetime(2025, 1, 1), datetime(2028, 1, 1)).map(
    lambda naive: naive.replace(microsecond=0, tzinfo=UTC).astimezone(CHICAGO))


def near(one: Quantity, other: Quantity, dust: Decimal = DUST) -> bool:
    """Equal but for the last digits of a division."""
    return bool(abs(number(one / other, "1") - 1) < dust) if number(other, unit_of(other)) else bool(one == other)


def value(name: str, figure: str, **takes: Any) -> Any:
    return calculator(name)(**takes).figures[figure].value
