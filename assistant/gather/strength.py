"""What adding water would make of a formula: the sum only; thinning is the care team's to decide."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.gather._shared import feed, volume_of
from assistant.slots import Slots
from assistant.wants import Ask, Used, Want
from rules.quantity import Quantity, qty

DENSITY_MOST = Decimal("4")


def gather(slots: Slots) -> Mapping[str, Any]:
    _strengths(slots)
    water = {"water": Want("volume", ("flush",), told=True)}
    if "target" in slots.used and slots.said.has("how much water"):
        water = {}  # the water is what is asked for, so the amount that was said is the formula's
    slots.assign(
        **water,
        volume=Want("volume", ("total", "given", "left", "container")),
        share=Want("share", (), bare=False),
        part=Want("percent", (), bare=False),
    )
    plan = slots.night.plan
    density = slots.get("energy_density")
    if density is None and plan is not None:
        density = slots.fill("energy_density", plan.formula.energy, "care plan")
    volume = slots.get("volume")
    if volume is None:
        of = feed(slots)
        volume = slots.fill("volume", volume_of(slots, of), "care plan")
    if volume is None:
        raise Ask("volume")
    water, target, part = slots.get("water"), slots.get("target"), slots.get("part")
    if part is None and slots.get("share") is not None:
        part = None
    if part is None and slots.said.has("half strength", "half-strength"):
        part = slots.fill("part", qty(50, "%"), "question")
    if part is None and slots.said.has("three quarter strength", "three-quarter strength"):
        part = slots.fill("part", qty(75, "%"), "question")
    if water is None and target is None and part is None:
        raise Ask("water")
    return {
        "volume": volume,
        "density": density,
        "water": water,
        "target": target if water is None else None,
        "part": part if water is None and target is None else None,
    }


def _thinner(density: Quantity, slots: Slots) -> bool:
    """The one strength that is told, below the plan's, where water is asked for: what it is to become."""
    plan = slots.night.plan
    return slots.said.has(*WATER_ASKED) and plan is not None and density < plan.formula.energy


WATER_ASKED = (r"(?:how much|what|how many \w+ of) (?:\w+ )?water", r"water (?:to|do|must|should|goes)")


def _strengths(slots: Slots) -> None:
    """ "Brings the 1.5 down to 1.0 kcal": the strength that is there and the one that is wanted."""
    found = []
    for spoken in slots.said.spoken:
        reading = spoken.reading("density") or spoken.reading("energy", "number")
        if (
            reading is not None
            and Decimal("0.3") <= Decimal(reading.value) <= DENSITY_MOST
            and spoken.reading("volume", "time", "share") is None
        ):
            found.append((spoken, qty(reading.value, "kcal/mL")))
    if not found:
        return
    wanted = next(
        ((s, d) for s, d in found if s.before.endswith(("to", "down to", "into", "make", "at", "a"))),
        found[-1] if len({density for _, density in found}) > 1 or _thinner(found[0][1], slots) else None,
    )
    for spoken, density in found:
        name = "target" if wanted is not None and density == wanted[1] else "energy_density"
        slots.spoken.setdefault(f"{name}_{spoken.amount.start}", spoken)  # "to 0.9 ... how much makes it 0.9": said twice
        if name not in slots.used:
            slots.used[name] = Used(density, "question", spoken.amount.text)
            slots.spoken[name] = spoken
