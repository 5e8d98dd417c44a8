from __future__ import annotations

from typing import Any

from rules.limits import usual, within
from rules.outcome import CannotAnswer, Figure, Outcome, need
from rules.quantity import Quantity


def prime(*, priming: Quantity | None = None, poured: Quantity | None = None) -> Outcome:
    """How much formula the set holds before any reaches the tube.

    Takes
        priming  mL  0 to 200     the set's priming volume, from the care plan or its package
        poured   mL  0.5 to 5000  what was poured, to tell what of it can run
    Gives
        priming  mL
    Refuses
        missing                   no priming volume is known: none is assumed
        beyond_possible           an amount outside its range, or no more poured than the set holds
    Remarks
        runs_out_of               facts `runs` (mL): what of the poured amount can reach the tube
        unusual                   facts `unusual`: such a set is seldom seen at home
    Source
        arithmetic                what runs is what was poured less what the set holds
    """
    need(priming=priming)
    assert priming is not None
    within("prime", priming=priming, poured=poured)
    unusual = usual("prime", priming=priming)
    working, remarks = [("priming", priming)], []
    facts: dict[str, Any] = {"unusual": unusual}
    if poured is not None:
        if poured <= priming:
            raise CannotAnswer("beyond_possible", name="poured", found=poured, low=priming, high=None)
        facts["runs"] = (poured - priming).to("mL")
        working = [("poured", poured), ("priming", priming), ("runs", facts["runs"])]
        remarks.append("runs_out_of")
    return Outcome({"priming": Figure(priming.to("mL"))}, tuple(working), ("arithmetic",),
                   (*remarks, *["unusual"] * bool(unusual)), facts=facts)
