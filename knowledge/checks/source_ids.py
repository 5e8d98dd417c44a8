"""No source, no number: every id resolves, and every entry says how it was confirmed."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from knowledge.library import Fault, Shelf, nearest

NEEDED = ("title", "publisher", "year")
CONFIRMED = ("read", "memory", "common practice")


def check(shelf: Shelf) -> Iterator[Fault]:
    yield from _source_files(shelf)
    known = shelf.sources()
    for name in shelf.names():
        if "/" not in name:             # the files of wording beside the folders hold templates, not sources
            continue
        for key, table in _tables(shelf.read(name), ""):
            yield from _entry(name, key, table, known)


def _source_files(shelf: Shelf) -> Iterator[Fault]:
    first: dict[str, tuple[str, Any]] = {}
    for name in shelf.source_files():
        for key, entry in shelf.read(name).items():
            if not isinstance(entry, Mapping):
                yield Fault(name, key, "is not a table", f"write [{key}] and its title below")
                continue
            for needed in NEEDED:
                if needed not in entry:
                    yield Fault(name, f"{key}.{needed}", "is missing", 'write "not dated" where none is printed')
            if key in first and dict(first[key][1]) != dict(entry):
                yield Fault(name, key, f"says something else in {first[key][0]}", "keep one of the two")
            first.setdefault(key, (name, entry))


def _tables(value: Any, key: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Every table in the file that names a source, however deep."""
    if isinstance(value, Mapping):
        if "source" in value and "confirmed" in value:
            yield key, value
        for inner_key, inner in value.items():
            yield from _tables(inner, f"{key}.{inner_key}" if key else inner_key)
    elif isinstance(value, tuple):
        for place, inner in enumerate(value, 1):
            yield from _tables(inner, f"{key}[{place}]")


def _entry(name: str, key: str, table: Mapping[str, Any], known: Mapping[str, Any]) -> Iterator[Fault]:
    where = f"{key}.source" if key else "source"
    source = table["source"]
    if not isinstance(source, str):
        return
    common = source in ("common practice", "")
    if not common and source not in known:
        yield Fault(name, where, f'source "{source}" is in no sources file', nearest(source, known))
    others = table.get("also", ())
    for other in others if isinstance(others, tuple) else ():
        if isinstance(other, str) and other not in known:
            yield Fault(name, f"{key}.also", f'source "{other}" is in no sources file', nearest(other, known))
    confirmed = table.get("confirmed")
    if confirmed is not None and confirmed not in CONFIRMED:
        yield Fault(name, f"{key}.confirmed" if key else "confirmed", f'"{confirmed}" is not known',
                    nearest(str(confirmed), CONFIRMED))
