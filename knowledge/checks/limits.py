"""Ranges of knowledge/limits: a unit we count in, two ends in order, the usual range inside the possible one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from knowledge.library import Fault, Shelf

KEYS = {"unit", "possible", "usual", "source", "place", "confirmed"}


def check(shelf: Shelf) -> Iterator[Fault]:
    for name, table in shelf.folder("limits").items():
        for key, entry in table.items():
            yield from _amount(f"limits/{name}.toml", key, entry)


def _amount(file: str, key: str, entry: Mapping[str, Any]) -> Iterator[Fault]:
    if not isinstance(entry, Mapping):
        yield Fault(file, key, "is not a table", f"write [{key}] with unit and possible")
        return
    for unknown in sorted(set(entry) - KEYS):
        yield Fault(file, f"{key}.{unknown}", "is not known here", f"allowed: {', '.join(sorted(KEYS))}")
    for needed in ("unit", "possible", "source", "confirmed"):
        if needed not in entry:
            yield Fault(file, f"{key}.{needed}", "is missing")
    for range_name in ("possible", "usual"):
        ends = entry.get(range_name, ())
        if range_name in entry and not _is_range(ends):
            yield Fault(file, f"{key}.{range_name}", f"found {ends!r}", "write two numbers, the lower one first")
    if _is_range(entry.get("possible", ())) and _is_range(entry.get("usual", ())):
        low, high = entry["possible"]
        if not low <= entry["usual"][0] <= entry["usual"][1] <= high:
            yield Fault(file, f"{key}.usual", "is not inside the possible range")


def _is_range(ends: Any) -> bool:
    if not isinstance(ends, tuple) or len(ends) != 2 or any(isinstance(end, bool) for end in ends):
        return False
    return all(isinstance(end, (int, Decimal)) for end in ends) and bool(ends[0] < ends[1])
