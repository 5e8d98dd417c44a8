"""What the log says was given -> a FHIR Bundle: NutritionIntake (R5), or Observation (R4, which has no intake).

One entry for each feed and each water flush. An amount that nobody knows is left out and said to be unknown (R4:
dataAbsentReason; R5 knows only the absence, so a note says it). Amounts are in mL, to 0.01 mL half up; units are codes
of UCUM. No LOINC code is given: those for enteral intake say "measured", and a feed's amount here is mostly worked out
from its rate and time. Entries that were taken back are not in it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import NAMESPACE_URL, uuid5

from assistant.fhir.to_plan import sentence
from assistant.fhir.units import UCUM
from assistant.household.day_log import feeds_since
from assistant.night import Night
from knowledge.library import table
from rules.quantity import Quantity, number
from rules.rounding import half_up

RELEASES = ("R4", "R5")


@dataclass(frozen=True)
class Delivered:
    """One feed or flush. `finish` None: it still runs. `amount` mL and `rate` mL/h, None where not known."""

    kind: str
    start: datetime
    finish: datetime | None
    amount: Quantity | None
    rate: Quantity | None
    product: str


def delivered(night: Night, since: datetime) -> list[Delivered]:
    """Every feed that began, and every flush, from `since` to the night's now; in the order of time."""
    name = night.plan.formula.name if night.plan and night.plan.formula.name else sentence("export", "formula")
    found = []
    for state in feeds_since(night, since):
        assert state.started is not None
        ended = state.stopped_at
        found.append(Delivered("feed", state.started, ended, state.given, state.rate if ended is None else None, name))
    for event in night.events:
        if event.kind == "flushed" and since <= event.at <= night.now:
            found.append(Delivered("flush", event.at, event.at, event.volume, None, sentence("export", "water")))
    return sorted(found, key=lambda one: one.start)


def bundle(night: Night, since: datetime, release: str, subject: str | None, place: str) -> dict[str, Any]:
    """A collection of everything delivered, as plain JSON. `subject` is a reference such as Patient/12; `place` keeps
    the ids of one household apart from another's, and the same in each export."""
    make = _intake if release == "R5" else _observation
    who = {"reference": subject} if subject else {"display": sentence("export", "subject")}
    entries = []
    for one in delivered(night, since):
        own = str(uuid5(NAMESPACE_URL, f"{place} {one.kind} {one.start.isoformat()}"))
        entries.append({"fullUrl": f"urn:uuid:{own}", "resource": {**make(one, who, night.now), "id": own}})
    made: dict[str, Any] = {"resourceType": "Bundle", "type": "collection", "timestamp": _text(night.now)}
    return {**made, "entry": entries} if entries else made         # an empty list is no valid JSON of FHIR


def _intake(one: Delivered, who: dict[str, str], now: datetime) -> dict[str, Any]:
    item: dict[str, Any] = {"type": {"text": sentence("export", f"type_{one.kind}")},
                            "nutritionProduct": {"concept": {"text": one.product}}}
    if one.amount is not None:
        item["amount"] = quantity(one.amount, "volume")
    if one.rate is not None:
        item["rate"] = quantity(one.rate, "rate")
    return {"resourceType": "NutritionIntake", "status": "in-progress" if one.finish is None else "completed",
            "code": {"text": sentence("export", f"code_{one.kind}")}, "subject": who, **_when(one, "occurrence"),
            "recorded": _text(now), "reportedBoolean": True, "consumedItem": [item], "note": list(_notes(one))}


def _observation(one: Delivered, who: dict[str, str], now: datetime) -> dict[str, Any]:
    value: dict[str, Any] = {"dataAbsentReason": {"coding": [{
        "system": "http://terminology.hl7.org/CodeSystem/data-absent-reason", "code": "unknown"}]}}
    if one.amount is not None:
        value = {"valueQuantity": quantity(one.amount, "volume")}
    return {"resourceType": "Observation", "status": "preliminary" if one.finish is None else "final",
            "code": {"text": sentence("export", f"code_{one.kind}")}, "subject": who, **_when(one, "effective"),
            "issued": _text(now), **value, "note": list(_notes(one))}


def _notes(one: Delivered) -> Iterator[dict[str, str]]:
    name = "amount_unknown" if one.amount is None else f"amount_{one.kind}"
    yield {"text": sentence("export", name, product=one.product)}


def _when(one: Delivered, stem: str) -> dict[str, Any]:
    if one.finish == one.start:
        return {f"{stem}DateTime": _text(one.start)}
    period = {"start": _text(one.start)} | ({"end": _text(one.finish)} if one.finish else {})
    return {f"{stem}Period": period}


def quantity(amount: Quantity, kind: str) -> dict[str, Any]:
    """A Quantity of FHIR in the one unit that is exported for its kind."""
    unit = table("fhir_codes")["exported"][kind]
    value = half_up(number(amount, unit["unit"]), 2)
    return {"value": int(value) if value == int(value) else float(value), "unit": unit["unit"], "system": UCUM,
            "code": unit["code"]}


def _text(at: datetime) -> str:
    return at.isoformat(timespec="seconds")
