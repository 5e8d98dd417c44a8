"""A day's formula and its energy for each kilogram. Shown, never judged."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from assistant.gather._amounts import amount
from assistant.message import Reading
from assistant.numbers.other_events import of_a_time_gone
from assistant.numbers.share_out import NOT_MEANT
from assistant.numbers.spoken import Spoken
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.numbers.weighed_roles import WHOLE
from assistant.slots import Slots

WEIGHS = re.compile(
    r"\b(?:wt|weight(?= (?:is|was|today|now))|weigh(?:s|ed|ing)?|scales? (?:say|said|says|reads?))"
    r"(?: (?:in|out|at|him|her|me|about|is|was|today|now))*$"
)
CHANGE = re.compile(r"\b(?:put|gain\w*|lost|lose|losing|up|down|dropped|added)(?: \w+){0,2}$")


def gather(slots: Slots) -> Mapping[str, Any]:
    changed = False
    for spoken in slots.said.spoken:  # "he is 31.4 kg": a mass is the weight, whatever stands beside it
        mass = spoken.reading("mass") if spoken.roles.get("noise", 0.0) < NOT_MEANT else None  # another client's
        if mass is not None and mass.value == 1:  # "what is that a kilo?", "for one kilo of her"
            slots.spoken[f"each_{spoken.amount.start}"] = spoken
            continue
        mass = mass or _weighed(spoken)
        if mass is not None and CHANGE.search(spoken.before):
            changed, slots.spoken["change"] = True, spoken  # "he put on two kilos": not what he weighs
        elif mass is not None and "weight" not in slots.spoken:
            slots.spoken["weight"] = spoken
            slots.used["weight"] = Used(measure("mass", mass, slots.night), "question", spoken.amount.text)
    _now_weighs(slots)
    for spoken in slots.unused() if "weight" in slots.spoken else ():
        if of_a_time_gone(slots.said.heard, spoken.amount):
            slots.spoken[f"weight_then_{spoken.amount.start}"] = spoken  # "he was 66 in the spring": no amount of feed
    shy = 0.0 if "weight" in slots.spoken else 0.2
    slots.assign(weight=Want("mass", ("weight",)), volume=Want("volume", ("total", "given"), shy=shy))
    plan = slots.night.plan
    weight = slots.get("weight")
    if weight is None and changed:
        raise Ask("weight")
    if weight is None and plan is not None:
        weight = slots.fill("weight", plan.person.weight, "care plan")
    weight = slots.need("weight") if weight is None else weight
    if plan is not None:
        slots.fill("energy_density", plan.formula.energy, "care plan")
    return {"volume": amount(slots), "weight": weight.to("kg"), "density": slots.get("energy_density")}


def _weighed(spoken: Spoken) -> Reading | None:
    """ "We weighed him, 48.2 on the scales": kilos, where a number is told as a weight by whole words."""
    weighed = spoken.roles.get("weight", 0.0) >= WHOLE or WEIGHS.search(spoken.before)
    bare = spoken.reading("number") if weighed and len(spoken.amount.readings) == 1 else None
    return Reading("mass", bare.value, "kg") if bare is not None else None


def _now_weighs(slots: Slots) -> None:
    """ "She was 12 kilo in the spring, she is 16 now": kilos too."""
    gone = [s for s in slots.said.spoken if s.roles.get("noise", 0.0) >= NOT_MEANT]
    then = next((mass for s in gone if (mass := s.reading("mass")) is not None), None)
    for spoken in slots.said.spoken if then is not None and "weight" not in slots.spoken else ():
        bare = spoken.reading("number")
        if then is not None and bare is not None and (spoken.after.startswith("now") or spoken.before.endswith("now")):
            slots.spoken["weight"] = spoken
            told = measure("mass", replace(then, value=bare.value), slots.night)
            slots.used["weight"] = Used(told, "question", spoken.amount.text)
            return
