"""A NutritionOrder of FHIR R4, R4B or R5 -> what it says of the tube feed, without any choice made."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from assistant.fhir.reading import Leaves, NotAnOrder
from assistant.fhir.schedule import Given, given
from assistant.fhir.units import Measured, measured
from knowledge.library import table

IN_FORCE = ("active",)
ORDERS = ("order", "original-order", "reflex-order", "filler-order", "instance-order")
FORMULA = "enteralFormula"
#: fields that only one of the two shapes has
OLD = (("patient",), (FORMULA, "routeofAdministration"), (FORMULA, "additiveType"), (FORMULA, "additiveProductName"))
NEW = (("subject",), (FORMULA, "routeOfAdministration"), (FORMULA, "additive"))


@dataclass(frozen=True)
class Order:
    """What an order says. `routes` holds every route its codes and words name ("" one it cannot tell, "mouth")."""

    release: str
    leaves: Leaves
    subject: str
    practice: bool
    issued: date | None
    routes: tuple[str, ...]
    route_said: str
    energy: Measured | None
    daily: Measured | None
    feeds: tuple[Given, ...]
    additives: tuple[str, ...]
    product: str
    kind: str
    words: tuple[str, ...]


def read_order(resource: dict[str, Any]) -> Order:
    """Raises NotAnOrder: no NutritionOrder, not in force, no tube feed in it, or something that changes its sense."""
    leaves = Leaves(resource)
    _is_an_order(leaves)
    new = _release(leaves)
    feeds = tuple(given(leaves, new, n) for n in range(leaves.count(FORMULA, "administration")))
    if not feeds:
        raise NotAnOrder("no_administration")
    routes, route_said = _route(leaves, "routeOfAdministration" if new else "routeofAdministration")
    daily = measured(leaves, FORMULA, "maxVolumeToDeliver", measures=("daily", "volume"))
    additives = _additives(leaves, new)
    return Order(
        release="R5" if new else "R4/R4B", leaves=leaves, subject=_subject(leaves, "subject" if new else "patient"),
        practice=_practice(leaves), issued=_issued(leaves), routes=routes, route_said=route_said,
        energy=measured(leaves, FORMULA, "caloricDensity", measures=("energy",)), daily=daily, feeds=feeds,
        additives=additives, product=leaves.text(FORMULA, "baseFormulaProductName"),
        kind=_concept(leaves, FORMULA, "baseFormulaType", *(("concept",) if new else ()))[0],
        words=_words(leaves, new),
    )


def _is_an_order(leaves: Leaves) -> None:
    kind = leaves.text("resourceType")
    if kind != "NutritionOrder":
        raise NotAnOrder("wrong_resource", kind=kind[:60] or "-")
    for path in leaves.values:
        if "implicitRules" in path or any("modifierExtension" in str(step) for step in path):
            raise NotAnOrder("changes_sense", where=".".join(str(step) for step in path)[:200])
    status, intent = leaves.text("status"), leaves.text("intent")
    if status not in IN_FORCE:
        raise NotAnOrder("not_in_force", status=status[:60] or "-")
    if intent not in ORDERS:
        raise NotAnOrder("no_order", intent=intent[:60] or "-")
    if leaves.take("doNotPerform") is not None:
        raise NotAnOrder("changes_sense", where="doNotPerform")
    if not leaves.has(FORMULA):
        raise NotAnOrder("no_tube_feed")
    leaves.take("id")


def _release(leaves: Leaves) -> bool:
    """Whether it has the shape of R5. Raises NotAnOrder where it mixes both, or shows neither."""
    old = any(leaves.has(*path) for path in OLD)
    new = any(leaves.has(*path) for path in NEW)
    if old == new:
        raise NotAnOrder("mixed_releases" if old else "no_release")
    return new


def _subject(leaves: Leaves, name: str) -> str:
    parts = [leaves.text(name, part) for part in ("display", "reference")]
    return " ".join(part for part in parts if part) or "-"


def _practice(leaves: Leaves) -> bool:
    for n in range(leaves.count("meta", "tag")):
        if leaves.values.get(("meta", "tag", n, "code")) == "HTEST":
            for part in ("system", "code", "display"):
                leaves.take("meta", "tag", n, part)
            return True
    return False


def _issued(leaves: Leaves) -> date | None:
    """The day of the order as written; a bare year or month is left among what was not read."""
    found = leaves.values.get(("dateTime",))
    if not isinstance(found, str) or not re.match(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", found):
        return None
    try:
        day = datetime.fromisoformat(found).date()
    except ValueError:
        raise NotAnOrder("malformed", where="dateTime") from None
    leaves.take("dateTime")
    return day


def _concept(leaves: Leaves, *path: str | int) -> tuple[str, list[tuple[str, str, str]]]:
    """A CodeableConcept: as people read it, and its codings (system, code, display)."""
    codings = [(leaves.text(*path, "coding", n, "system"), leaves.text(*path, "coding", n, "code"),
                leaves.text(*path, "coding", n, "display")) for n in range(leaves.count(*path, "coding")
                                                                            if leaves.has(*path) else 0)]
    text = leaves.text(*path, "text") if leaves.has(*path) else ""
    said = [text] + [f"{display} ({code})" if display else code for _, code, display in codings]
    return ", ".join(part for part in said if part), codings


def _route(leaves: Leaves, name: str) -> tuple[tuple[str, ...], str]:
    said, codings = _concept(leaves, FORMULA, name)
    known = table("fhir_codes")["route"]
    found = [known["codes"].get(code, "") if system in known["systems"] else "" for system, code, _ in codings]
    found += [meant for meant in (_route_in(text) for text in said.split(", ")) if meant]
    return tuple(dict.fromkeys(found)), said


def _route_in(text: str) -> str:
    for word in table("fhir_codes")["route"]["word"]:
        if any(said in text.casefold() for said in word["said"]):
            return str(word["means"])
    return ""


def _additives(leaves: Leaves, new: bool) -> tuple[str, ...]:
    if not new:
        said = [_concept(leaves, FORMULA, "additiveType")[0], leaves.text(FORMULA, "additiveProductName")]
        return tuple([", ".join(part for part in said if part)] if any(said) else [])
    found = []
    for n in range(leaves.count(FORMULA, "additive")):
        path = (FORMULA, "additive", n)
        amount = [leaves.take(*path, "quantity", part) for part in ("value", "unit", "code")]
        parts = [_concept(leaves, *path, "type", "concept")[0], leaves.text(*path, "productName"),
                 " ".join(str(part) for part in amount[:2] if part is not None)]
        found.append(", ".join(part for part in parts if part))
    return tuple(found)


def _words(leaves: Leaves, new: bool) -> tuple[str, ...]:
    """What the order says in free text: the instruction, and its notes."""
    found = [leaves.text(FORMULA, "administrationInstruction")]
    found += [leaves.text("note", n, "text") for n in range(leaves.count("note"))]
    if new:
        found += [leaves.text("instruction")] if isinstance(leaves.values.get(("instruction",)), str) else []
    return tuple(text for text in found if text)
