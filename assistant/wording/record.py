"""The answer record as plain data (DEVELOPERS.md says what is in it): JSON numbers, UCUM units, ISO 8601 times."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from assistant.message import Reading
from assistant.numbers.wants import Used
from assistant.wording.speak import two_sentences
from knowledge.library import sources as all_sources
from rules.outcome import Figure
from rules.quantity import is_amount, number, ucum, unit_of

#: entries of the log that a record calls by the nearest name that readers of records know
TOLD_AS = {"log_rate": "log_start", "log_set": "log_symptom", "log_medicine": "log_symptom"}


def record(
    *,
    intent: str,
    outcome: str,
    text: str,
    speech: str,
    level: str = "none",
    card: str | None = None,
    figures: Mapping[str, Figure] | None = None,
    used: Mapping[str, Used] | None = None,
    working: str = "",
    sources: Iterable[str] = (),
    place: str = "",
    defers: bool = False,
    asks: str | None = None,
    choices: list[dict[str, Any]] | None = None,
) -> dict[str, Any]:
    """The record of one answer. `place` stands for where in the source it is, if the source itself does not say."""
    made: dict[str, Any] = {
        "intent": TOLD_AS.get(intent, intent),
        "card": card,
        "outcome": outcome,
        "level": level,
        "figures": {n: plain_figure(f) for n, f in (figures or {}).items()},
        "used": {
            n: {**plain_value(u.value), "from": u.origin}
            for n, u in (used or {}).items()
            if not isinstance(u.value, Reading)  # no instant yet
        },
        "working": working,
        "text": text,
        "speech": speech if intent == "slower" else two_sentences(speech),
        "sources": source_records(sources, place),
        "defers": defers,
    }
    if asks is not None:
        made["asks"] = asks
    if choices:
        made["choices"] = choices[:3]
    return made


def source_records(sources: Iterable[str], place: str = "") -> list[dict[str, Any]]:
    known = all_sources()
    return [
        {
            "id": s,
            "title": known[s]["title"],
            "publisher": known[s].get("publisher", ""),
            "year": str(known[s].get("year", "")),
            "where": place or known[s].get("where", ""),
        }
        for s in dict.fromkeys(sources)
    ]


def plain_figure(figure: Figure) -> dict[str, Any]:
    made = plain_value(figure.value)
    for name, bound in (("low", figure.low), ("high", figure.high)):
        if bound is not None:
            made[name] = plain_value(bound)["value"]
    return made


def plain_value(value: Any) -> dict[str, Any]:
    """A value as JSON: numbers unrounded, instants as ISO 8601 with their offset."""
    if isinstance(value, bool):
        return {"value": value, "unit": ""}
    if is_amount(value):
        unit = unit_of(value)
        return {"value": json_number(number(value, unit)), "unit": ucum(unit)}
    if isinstance(value, (datetime, date)):
        return {"value": value.isoformat(), "unit": ""}
    if isinstance(value, (Decimal, int)):
        return {"value": json_number(Decimal(value)), "unit": "1"}
    return {"value": value if isinstance(value, str) else str(value), "unit": ""}


def json_number(value: Decimal) -> int | float:
    return int(value) if value == value.to_integral_value() else float(value)
