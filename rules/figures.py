"""Published figures, each with its source. No figure for a case is a refusal, never the nearest one.

The figures are data: knowledge/figures/*.toml.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from typing import Any

from knowledge.library import load
from rules.outcome import CannotAnswer
from rules.quantity import Quantity, parse

FORMS = ("closed_bag", "sterile_liquid", "powder", "human_milk", "fortified_milk", "home_blend")


@dataclass(frozen=True)
class Published:
    """A figure as a source prints it: the amount, the source's id, the place in it, read or from memory."""

    value: Quantity
    source: str
    place: str
    confirmed: str
    applies_to: str = ""


def _published(entry: Mapping[str, Any], amount: str) -> Published:
    return Published(parse(entry[amount]), entry["source"], entry["place"], entry["confirmed"], entry["applies_to"])


def _entries(name: str, on: date | None) -> Iterator[Mapping[str, Any]]:
    """Figures in force on the day; superseded ones stay in the files with `until`."""
    for entry in load("figures")[name]["figure"]:
        if on is None:
            if "until" not in entry:
                yield entry
        elif entry.get("from", date.min) <= on <= entry.get("until", date.max):
            yield entry


def hang_time(form: str, who: str | None = None, on: date | None = None) -> Published:
    """Published hang time (h) of a form of formula; `who` picks the stricter row for a group of people.

    Refuses `no_figure` for a form that no row covers.
    """
    for entry in _entries("hang_time", on):
        if entry["form"] == form and entry.get("who") == who:
            return _published(entry, "limit")
    raise CannotAnswer("no_figure", name="hang_time", found=form)


def opened_container(on: date | None = None) -> Published:
    """How long (h) an opened container keeps, covered and in the fridge."""
    return _stored("opened_container", on)


def feeding_set(on: date | None = None) -> Published:
    """After how long (h) a feeding set is changed at the latest."""
    return _stored("feeding_set", on)


def _stored(name: str, on: date | None) -> Published:
    for entry in _entries("storage", on):
        if entry["name"] == name:
            return _published(entry, "limit")
    raise CannotAnswer("no_figure", name=name)


def free_water(energy: Quantity, on: date | None = None) -> Published:
    """Share of water (%) in a formula of `energy` (kcal/mL): straight lines between the printed rows.

    Refuses `no_figure` outside the table, 1.0 to 2.0 kcal/mL.
    """
    rows = [(parse(entry["energy"]), _published(entry, "water")) for entry in _entries("free_water", on)]
    density = energy.to("kcal/mL")
    for (below, low), (above, high) in pairwise(rows):
        if below <= density <= above:
            share = low.value + (high.value - low.value) * (density - below) / (above - below)
            return Published(share.to("%"), low.source, low.place, low.confirmed, low.applies_to)
    raise CannotAnswer("no_figure", name="free_water", found=energy, low=rows[0][0], high=rows[-1][0])


def drop_factors(on: date | None = None) -> tuple[Quantity, ...]:
    """Drop factors (drop/mL) that are printed on packages. A list to choose from, never a default."""
    return tuple(parse(text) for entry in _entries("drop_factor", on) for text in entry["drops"])
