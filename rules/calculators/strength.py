from __future__ import annotations

from typing import Any

from rules.limits import within
from rules.outcome import CannotAnswer, Figure, Outcome
from rules.quantity import Quantity, number


def strength(
    *, volume: Quantity, density: Quantity | None = None, water: Quantity | None = None,
    target: Quantity | None = None, part: Quantity | None = None, makes: bool = False,
) -> Outcome:
    """What adding water makes of a formula. Thinning is never advised: the care team decides.

    Takes
        volume   mL       0.5 to 5000  formula; or what is to be made in all, where `makes` is true
        density  kcal/mL  0.3 to 4     energy of the formula at full strength
        water    mL       0 to 5000    water that is added; or
        target   kcal/mL  0.1 to 4     energy that is wanted; or
        part     %        1 to 100     strength that is wanted (half strength is 50 %)
        makes    yes or no             `volume` is the total, not the formula
    Gives
        water_added  mL
        energy       kcal/mL           of the mixture, where the formula's energy is known
    Refuses
        missing                        neither water, target nor part; or density with a target
        beyond_possible                an amount outside its range, or a target above full strength
    Remarks
        team_decides                   never thin or concentrate without the care team
    Source
        arithmetic                     the energy stays, the volume grows
    """
    within("strength", volume=volume, density=density, water=water, target=target, part=part)
    share = _share(volume, density, water, target, part, makes)
    formula, total = ((volume * share).to("mL"), volume.to("mL")) if makes else (
        volume.to("mL"), (volume / share).to("mL"))
    added = total - formula if water is None else water.to("mL")
    figures = {"water_added": Figure(added)}
    working: list[tuple[str, Any]] = [("formula", formula), ("water_added", added), ("total", total)]
    if density is not None:
        figures["energy"] = Figure((density * share).to("kcal/mL"))
        working.append(("energy", figures["energy"].value))
    return Outcome(figures, tuple(working), ("arithmetic",), ("team_decides",), True,
                   {"formula": formula, "total": total, "share": share})


def _share(
    volume: Quantity, density: Quantity | None, water: Quantity | None, target: Quantity | None,
    part: Quantity | None, makes: bool,
) -> Quantity:
    """Which part of the mixture is formula."""
    if water is not None:
        formula = volume - water if makes else volume
        if number(formula, "mL") <= 0:
            raise CannotAnswer("beyond_possible", name="water", found=water, low=None, high=volume)
        mixed: Quantity = (formula / (volume if makes else volume + water)).to("")
        return mixed
    if part is not None:
        return part.to("")
    if target is None or density is None:
        raise CannotAnswer("missing", name="water" if target is None else "density")
    if target > density:
        raise CannotAnswer("beyond_possible", name="target", found=target, low=None, high=density)
    thinned: Quantity = (target / density).to("")
    return thinned
