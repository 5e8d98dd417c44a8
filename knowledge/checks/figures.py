"""Published figures: each names its amount, its source, the place in it, how it was confirmed and when."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from knowledge.library import Fault, Shelf

NEEDED = ("source", "place", "confirmed", "applies_to", "checked")


def check(shelf: Shelf) -> Iterator[Fault]:
    for name, table in shelf.folder("figures").items():
        file = f"figures/{name}.toml"
        if not table.get("figure"):
            yield Fault(file, "figure", "holds no figure", "write [[figure]] with its amount and source")
        for place, entry in enumerate(table.get("figure", ()), 1):
            for needed in NEEDED:
                if needed not in entry:
                    yield Fault(file, f"figure[{place}].{needed}", "is missing")
            if entry.get("source") == "common practice" and entry.get("confirmed") != "common practice":
                yield Fault(file, f"figure[{place}].confirmed", "common practice has no source to have been read",
                            'write confirmed = "common practice"')
            for day in ("checked", "from", "until"):
                if day in entry and not isinstance(entry[day], date):
                    yield Fault(file, f"figure[{place}].{day}", f"found {entry[day]!r}", "write a date, 2026-11-25")
