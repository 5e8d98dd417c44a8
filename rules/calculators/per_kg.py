from __future__ import annotations

from typing import Any

from rules.limits import usual, within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity, qty

DAY = qty(1, "day")


def per_kg(*, volume: Quantity, weight: Quantity | None = None, density: Quantity | None = None) -> Outcome:
    """A day's formula and its energy for each kilogram of body weight. No judgement of what would be enough.

    Takes
        volume   mL       0.5 to 10000  formula of one day
        weight   kg       0.4 to 300    body weight
        density  kcal/mL  0.3 to 4      energy of the formula
    Gives
        volume  mL/kg/day
        energy  kcal/kg/day             where the formula's energy is known
    Refuses
        missing                         the weight is not known
        beyond_possible                 an amount outside its range
    Remarks
        team_judges                     whether it is enough is the care team's question
        unusual                         facts `unusual` names the amounts that are seldom seen at home
    Source
        arithmetic                      an amount divided by the weight and the day
    """
    need(weight=weight)
    assert weight is not None
    within("per_kg", volume=volume, weight=weight, density=density)
    amount = (volume / weight / DAY).to("mL/kg/day")
    figures = {"volume": Figure(amount)}
    working: list[tuple[str, Any]] = [("day_volume", volume), ("weight", weight), ("volume", amount)]
    if density is not None:
        energy = (volume * density / weight / DAY).to("kcal/kg/day")
        figures["energy"] = Figure(energy)
        working += [("density", density), ("energy", energy)]
    unusual = usual("per_kg", volume=volume, weight=weight)
    return Outcome(figures, tuple(working), ("arithmetic",), ("team_judges", *["unusual"] * bool(unusual)),
                   facts={"unusual": unusual})
