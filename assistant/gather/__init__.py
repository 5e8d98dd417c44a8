"""One file a question: which numbers it needs, and in which order they may come from words, log and plan.

`gather(slots)` fills the slots and returns the calculator's arguments, or raises Ask. No sum is done here.
File, question, calculator and sentences share one name, and the folder is the catalogue.
"""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any

from assistant.slots import Slots

Gather = Callable[[Slots], Mapping[str, Any]]


@cache
def names() -> frozenset[str]:
    return frozenset(m.name for m in pkgutil.iter_modules(__path__) if not m.name.startswith("_"))


@cache
def gather_for(question: str) -> Gather:
    found: Gather = importlib.import_module(f"{__name__}.{question}").gather
    return found


@cache
def calculator_for(question: str) -> Callable[..., Any]:
    found: Callable[..., Any] = getattr(importlib.import_module(f"rules.calculators.{question}"), question)
    return found
