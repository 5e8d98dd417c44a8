from __future__ import annotations

from rules.limits import usual, within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity


def energy(
    *, volume: Quantity | None = None, density: Quantity | None = None, pieces: Quantity | None = None,
    each: Quantity | None = None, unit: str = "kcal",
) -> Outcome:
    """Energy in an amount of formula.

    Takes
        volume   mL       0.5 to 10000  amount of formula
        density  kcal/mL  0.3 to 4      energy of the formula, from its label; or
        pieces   1        0.1 to 100    containers, with
        each     kcal     1 to 5000     energy of one, from its label
        unit     text                   kcal; or kJ, then facts `kilocalories` holds the same in kcal
    Gives
        energy  kcal
    Refuses
        missing                         the formula's energy is not known: none is assumed
        beyond_possible                 an amount outside its range
    Remarks
        unusual                         facts `unusual` names the amounts that are seldom seen at home
    Source
        arithmetic                      energy is an amount times its energy per mL
    """
    if pieces is not None and each is not None:
        within("energy", pieces=pieces, each=each)
        total = (pieces * each).to(unit)
        told = {"pieces": pieces, "each": each, **_kilocalories(total, unit)}
        working = (("pieces", pieces), ("each", each), ("energy", total))
        return Outcome({"energy": Figure(total)}, working, ("arithmetic",), facts=told)
    need(volume=volume, density=density)
    assert volume is not None and density is not None
    within("energy", volume=volume, density=density)
    total = (volume * density).to(unit)
    unusual = usual("energy", volume=volume, density=density)
    facts = {"unusual": unusual, **_kilocalories(total, unit)}
    return Outcome({"energy": Figure(total)}, (("volume", volume), ("density", density), ("energy", total)),
                   ("arithmetic",), ("unusual",) * bool(unusual), facts=facts)


def _kilocalories(total: Quantity, unit: str) -> dict[str, Quantity]:
    return {} if unit == "kcal" else {"kilocalories": total.to("kcal")}
