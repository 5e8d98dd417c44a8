from __future__ import annotations

from rules.limits import usual, within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity


def protein(*, volume: Quantity, content: Quantity | None = None) -> Outcome:
    """Protein in an amount of formula.

    Takes
        volume   mL   0.5 to 10000  amount of formula
        content  g/L  1 to 200      protein of the formula, from its label
    Gives
        protein  g
    Refuses
        missing                     the formula's protein is not known: none is assumed
        beyond_possible             an amount outside its range
    Remarks
        unusual                     facts `unusual` names the amounts that are seldom seen at home
    Source
        arithmetic                  protein is an amount times its protein per litre
    """
    need(volume=volume, protein=content)
    assert content is not None
    within("protein", volume=volume, content=content)
    total = (volume * content).to("g")
    unusual = usual("protein", volume=volume, content=content)
    return Outcome({"protein": Figure(total)}, (("volume", volume), ("content", content), ("protein", total)),
                   ("arithmetic",), ("unusual",) * bool(unusual), facts={"unusual": unusual})
