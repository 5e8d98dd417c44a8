"""An amount in another unit."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from assistant.gather._counts import counted
from assistant.gather._units import KINDS, UNITS, USUAL
from assistant.message import Reading
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask, Used, as_here
from assistant.slots import Slots
from rules.outcome import CannotAnswer
from rules.quantity import qty, unit_of


def gather(slots: Slots) -> Mapping[str, Any]:
    found = _told(slots)
    one = next((s for s in slots.said.spoken if (c := s.reading("count")) is not None and c.value == 1), None)
    if one is not None and found is not None and found[1].kind == "volume":
        slots.spoken["count"] = one  # "one can, 237 mL": its amount is said
    several = counted(slots) if one is None else None
    if several is not None:  # "six cans of 250": what it comes to
        slots.used["amount"] = Used(several, "question")
        return {"amount": several, "to": "L"}
    kept, to = slots.carried.get("amount"), slots.carried.get("to")
    if found is None:
        amount = slots.get("amount") or slots.get("volume") or _by_the_log(slots)
        if amount is None:
            named = _named(slots.said.heard.text)
            if named:
                slots.used["to"] = Used(named[-1][1], "question")
            raise Ask("value")
    else:
        spoken, reading = found
        slots.spoken["amount"] = spoken
        if reading.kind == "number":
            amount = qty(reading.value, _from_unit(slots, kept))
        elif reading.unit == "deg":
            amount = qty(reading.value, "degF" if reading.value > 60 else "degC")
        else:
            amount = qty(reading.value, _told_unit(slots, as_here(reading.unit, slots.night)))
        if unit_of(amount) == "mL/day":
            amount = (amount * qty(1, "day")).to("mL")  # "1,188 mL a day, in ounces": what a day's is
        slots.used["amount"] = Used(amount, "question", spoken.amount.text)
    if slots.said.has(*OF_WEIGHT) and unit_of(amount) in ("floz_us", "floz_uk", "g", "mg", "kg", "lb", "oz"):
        raise CannotAnswer(
            "no_figure", name="unit"
        )  # an ounce of powder is a weight: how much room it takes is not known
    target = _to_unit(slots, amount, found[0].amount if found else None)
    if (
        target is None
        and to is not None
        and kept is not None
        and kept.value.dimensionality == amount.dimensionality
        and kept.value.units == amount.units
    ):
        target = to.value
    if target is None:
        target = _other(amount)
    if target is None:
        raise Ask("unit")
    slots.used["to"] = Used(target, "question")
    return {"amount": amount, "to": target}


def _told(slots: Slots) -> tuple[Spoken, Reading] | None:
    """The amount that is told: of the kind of a unit that is named, with a unit of its own, bare; no room's warmth."""
    told = [s for s in slots.said.spoken if s.roles.get("noise", 0.0) <= PLAINLY] or slots.said.spoken
    named = {unit for _, unit in _named(slots.said.heard.text)}
    fits = [(s, r) for s in told if (r := s.reading(*KINDS)) is not None]
    of_a_kind = [(s, r) for s, r in fits if len(named & set(KINDS[r.kind])) > 1]
    bare = [(s, r) for s in told if (r := s.reading("number")) is not None]
    return next(iter((*of_a_kind, *fits, *bare)), None)


PLAINLY = 0.9
HAD = (r"had", r"gone in", r"got", r"given", r"taken", r"in so far", r"in him", r"in her", r"went in", r"delivered")
TO_COME = (r"left", r"to go", r"remaining", r"to come")


def _by_the_log(slots: Slots) -> Any:
    """ "Give me in ounces what she's had": what the log makes of it."""
    state = slots.night.state
    if state is None or state.started is None:
        return None
    if slots.said.has(*TO_COME):
        return slots.fill("amount", state.left, "feed log")
    return slots.fill("amount", state.given, "feed log") if slots.said.has(*HAD) else None


OPENED = (r"open\w*", r"cans?", r"cartons?", r"bottles?", r"bags?", r"tins?", r"packs?", r"us(?:e|ed|ing)")
BRITISH = (r"(?:uk|imperial|british|english)",)
AMERICAN = (r"(?:us|american|u\.?s\.?a?)",)


def _told_unit(slots: Slots, unit: str) -> str:
    """ "Proper British pints": the country that the words name, else the plan's."""
    if slots.said.has(*BRITISH):
        return {"pint": "pint_uk", "floz_us": "floz_uk"}.get(unit, unit)
    return "pint" if unit == "pint_uk" and slots.said.has(*AMERICAN) else unit


OF_WEIGHT = (
    r"(?:ounces?|oz|grams?|g|pounds?|lbs?|kilos?) of (?:\w+ ){0,2}(?:powder|thickener)",
)


def _named(text: str) -> list[tuple[int, str]]:
    """The units named, each with its place; what is part of a longer one ("the min of mL/min") is none."""
    found = sorted(
        (m.start(), -m.end(), unit)
        for pattern, unit in UNITS
        for m in re.finditer(rf"(?<![\w'])(?:{pattern})(?![\w'])", text.lower())
    )
    whole: list[tuple[int, str]] = []
    reached = 0
    for start, end, unit in found:
        if start >= reached:
            whole.append((start, unit))
            reached = -end
    return whole


def _to_unit(slots: Slots, amount: Any, said: Any) -> str | None:
    """The unit asked for: one that is named apart from the amount's own words, of the same kind."""
    tokens = slots.said.heard.tokens
    rest = " ".join(t for i, t in enumerate(tokens) if said is None or not said.start <= i < said.end)
    own = unit_of(amount)
    kind = next((k for k, units in KINDS.items() if own in units), None)
    named = [(not _pointed_at(rest[:at]), _a_vessel(rest, at, unit), unit) for at, unit in _named(rest)]
    told_in = {unit for _, unit in _named(said.text)} if said is not None else set()  # "11 stone 3": of two units
    for _, vessel, unit in sorted(named, key=lambda one: one[:2]):
        if vessel or unit in told_in:
            continue
        if unit == "pints":
            unit = _told_unit(slots, as_here("pint", slots.night))
        if kind == "mass" and unit == "floz_us":
            unit = "oz"
        if kind == "rate":
            unit = {"mL": "mL/h", "floz_us": "floz_us/h"}.get(unit, unit)
        if kind == "density":
            unit = {"mL": "kcal/mL", "floz_us": "kcal/floz_us"}.get(unit, unit)
        if kind and unit in KINDS[kind] and unit != own:
            return unit
    return None


INTO = re.compile(
    r"\b(?:in|into|to|as|wants?|needs?|asks? for|only does|only do|only knows?|only reads?)(?: the| it in)?\W*$"
)
VESSEL = re.compile(r"\b(?:measuring|medicine|tea|coffee|plastic|paper|sippy|baby|my|his|her|a|the)\W*$")


def _pointed_at(before: str) -> bool:
    """ "The label wants mL", "in fl oz": is this the unit that it is to be in?"""
    return INTO.search(before.lower()) is not None


def _a_vessel(text: str, at: int, unit: str) -> bool:
    """ "My measuring cup": what it is measured in, and no unit."""
    return unit == "cup" and VESSEL.search(text[:at].lower()) is not None


def _from_unit(slots: Slots, kept: Any) -> str:
    """The unit of a number said bare: the last conversion's, or the counterpart of the unit asked for."""
    text = slots.said.heard.text
    units = [(_pointed_at(text[:at]), u) for at, u in _named(text)]
    named = [u for _, u in sorted(units, key=lambda one: one[0])]  # "840 in ounces, she doesn't speak milliliter"
    if kept is not None and not named:
        from rules.quantity import unit_of

        return unit_of(kept.value)
    if not named and "to" in slots.carried:
        named = [slots.carried["to"].value]
    in_ounces = slots.night.plan is None or slots.night.plan.units == "us"
    if not named or (set(named) == {"mL"} and (not in_ounces or slots.said.has(*OPENED))):
        raise Ask("unit", code="unit_told")  # "we opened 4, how much is that in mL?": of what?
    return {
        "floz_us": "mL",
        "L": "mL",
        "mL": "floz_us",
        "kg": "lb",
        "lb": "kg",
        "degC": "degF",
        "degF": "degC",
        "cup": "mL",
        "mm": "Fr",
        "Fr": "mm",
        "stone": "kg",
        "kcal": "kJ",
        "kJ": "kcal",
        "tsp": "mL",
        "tbsp": "mL",
        "pints": "mL",
        "pint": "mL",
        "pint_uk": "mL",
        "floz_uk": "mL",
        "in": "cm",
        "cm": "in",
        "g": "oz",
        "min": "h",
        "h": "min",
        "mg": "g",
        "mL/h": "mL/h",
        "mL/min": "mL/h",
    }[named[-1]]


def _other(amount: Any) -> str | None:
    own = unit_of(amount)
    kind = next((k for k, units in KINDS.items() if own in units), None)
    if kind is None:
        return None
    base = {
        "volume": "mL",
        "mass": "kg",
        "temperature": "degC",
        "french": "mm",
        "length": "cm",
        "energy": "kcal",
        "rate": "mL/h",
        "density": "kcal/mL",
        "time": "h",
    }[kind]
    return base if own != base else USUAL[kind].get(own)
