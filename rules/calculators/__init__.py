"""One calculator a file; file, function, question and limits share one name.

Every calculator takes keyword arguments only (Pint quantities, aware datetimes, dates, yes or no, strings of closed
lists) and gives an Outcome or raises CannotAnswer. `calculator(name)` finds one by its name.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from importlib import import_module
from pathlib import Path

from rules.outcome import Outcome


def names() -> tuple[str, ...]:
    """Every calculator there is: the folder is the catalogue."""
    return tuple(sorted(path.stem for path in Path(__file__).parent.glob("*.py") if path.stem != "__init__"))


@cache
def calculator(name: str) -> Callable[..., Outcome]:
    """The function of that name. KeyError where there is no such calculator."""
    if name not in names():
        raise KeyError(name)
    found: Callable[..., Outcome] = getattr(import_module(f"rules.calculators.{name}"), name)
    return found
