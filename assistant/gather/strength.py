"""What adding water would make of a formula: the sum only; thinning is the care team's to decide."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from assistant.gather._counts import LEAST_BARE, counted, of_them
from assistant.gather._shared import feed, volume_of
from assistant.numbers.wants import Ask, Used, Want, measure
from assistant.slots import Slots
from rules.quantity import Quantity, qty

WANTED = ("to", "down to", "into", "make", "at", "a", "to be", "be exactly", "to be about", "had to be", "be")
DENSITY_MOST = Decimal("4")
NO_STRENGTH = ("of us", "of them", "of those", "of these", "carton", "bottle", "can", "tin", "bag")


def gather(slots: Slots) -> Mapping[str, Any]:
    _strengths(slots)
    water = {"water": Want("volume", ("flush",), told=True)}
    if "target" in slots.used and slots.said.has(*WATER_ASKED):
        water = {}  # the water is what is asked for, so the amount that was said is the formula's
        slots.carried.pop("water", None)
    slots.assign(
        **water,
        volume=Want("volume", ("total", "given", "left", "container")),
        share=Want("share", (), bare=False),
        part=Want("percent", (), bare=False),
    )
    _so_many(slots)
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


WATER_ASKED = (r"(?:how much|what|how many \w+ of) (?:\w+ )?water(?:'?s)?", r"water (?:to|do|must|should|goes)")


def _so_many(slots: Slots) -> None:
    """ "And for two cartons in the one jug", after one: so many times what one holds. A bare amount left over is the
    formula's."""
    if "volume" in slots.spoken:
        slots.used["one_of_them"] = slots.used["volume"]  # "and for two of those?"
        return
    one, many = slots.carried.get("one_of_them"), [s for s in slots.unused() if s.reading("count")]
    so_many = many[0].reading("count") if len(many) == 1 else None
    if one is not None and so_many is not None:
        slots.spoken["count"], several = many[0], (one.value * so_many.value).to("mL")
    else:
        several = counted(slots) if many else of_them(slots)
    bare = [s for s in slots.unused() if s.amount.readings[0].kind == "number"]
    if several is not None:
        slots.used["volume"] = Used(several, "question")
    elif len(bare) == 1 and bare[0].amount.readings[0].value >= LEAST_BARE and "water" not in slots.spoken:
        slots.spoken["volume"] = bare[0]
        slots.used["volume"] = Used(measure("volume", bare[0].amount.readings[0], slots.night), "question",
                                    bare[0].amount.text)
        slots.used["one_of_them"] = slots.used["volume"]


def _strengths(slots: Slots) -> None:
    """ "Brings the 1.5 down to 1.0 kcal": the strength that is there and the one that is wanted."""
    found = []
    for spoken in slots.said.spoken:
        reading = spoken.reading("density") or spoken.reading("energy", "number")
        if (
            reading is not None
            and Decimal("0.3") <= Decimal(reading.value) <= DENSITY_MOST
            and spoken.reading("volume", "time", "share") is None
            and spoken.roles.get("noise", 0.0) <= 0.9
            and not spoken.after.startswith(NO_STRENGTH)
        ):
            found.append((spoken, qty(reading.value, "kcal/mL")))
    if not found:
        return
    wanted = next(
        ((s, d) for s, d in found if s.before.endswith(WANTED)),
        found[-1] if len({density for _, density in found}) > 1 or _thinner(found[0][1], slots) else None,
    )
    for spoken, density in found:
        name = "target" if wanted is not None and density == wanted[1] else "energy_density"
        slots.spoken.setdefault(f"{name}_{spoken.amount.start}", spoken)  # "to 0.9 ... what makes it 0.9": said twice
        if name not in slots.used:
            slots.used[name] = Used(density, "question", spoken.amount.text)
            slots.spoken[name] = spoken
