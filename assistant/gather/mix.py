"""The plan's powder recipe, scaled. Never another recipe."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assistant.gather._amounts import with_others
from assistant.gather._counts import said_count
from assistant.slots import Slots
from assistant.wants import Ask, Want
from rules.quantity import qty

ANOTHER_RECIPE = (  # the plan's recipe is still told, and whom to call before mixing another way
    r"stronger",
    r"weaker",
    r"thicker",
    r"thinner",
    r"richer",
    r"concentrate\w*",
    r"dilute\w*",
    r"water(?:ed)? (?:it )?down",
    r"(?:extra|more|another|fewer|less) (?:scoops?|powder|water)",
    r"(?:scoops?|powder|water) (?:more|less|fewer)",
)


def gather(slots: Slots) -> Mapping[str, Any]:
    plan = slots.night.plan
    recipe = plan.formula.recipe if plan else None
    if recipe is None or recipe.powder is None or recipe.water is None or recipe.makes is None:
        raise Ask("recipe")
    slots.assign(
        powder=Want("mass", (), bare=False),
        water=Want("volume", ("flush",), bare=False, told=True),
        makes=Want("volume", ("total", "hung", "left", "given")),
    )
    if "makes" in slots.spoken:
        with_others(slots, "makes")
    slots.defers = slots.said.has(*ANOTHER_RECIPE)
    scoops = said_count(slots, "scoop")
    for name in ("powder", "water", "makes", "scoop"):
        slots.fill(f"recipe_{name}", getattr(recipe, name), "care plan")
    wanted = {n: slots.get(n) for n in ("makes", "powder", "water")}
    first = next((n for n in ("makes", "powder", "water") if wanted[n] is not None), None)
    made = {first: wanted[first]} if first else {"scoops": qty(scoops, "1")} if scoops is not None else {}
    return {
        "recipe_powder": recipe.powder,
        "recipe_water": recipe.water,
        "recipe_makes": recipe.makes,
        "recipe_scoop": recipe.scoop,
        **made,
    }
