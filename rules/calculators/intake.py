from __future__ import annotations

from collections.abc import Iterable

from rules.limits import within
from rules.outcome import Figure, Outcome, need
from rules.quantity import Quantity, qty


def intake(*, given: Iterable[Quantity], planned: Quantity | None = None, density: Quantity | None = None) -> Outcome:
    """What went in, against what was planned for the same time.

    Takes
        given    list                      each amount (mL) that went in; none is a day without feed
        planned  mL       0.5 to 10000     what was planned
        density  kcal/mL  0.3 to 4         energy of the formula, to tell the energy
    Gives
        delivered  mL
        planned    mL
        fraction   1                       delivered divided by planned
    Refuses
        missing                            no plan to compare with
        beyond_possible                    an amount outside its range (0 to 10000 mL in all)
    Remarks
        less_than_planned                  facts `missing_volume` (mL)
        as_planned                         the same
        more_than_planned                  facts `over_volume` (mL); all three: `percent`
    Source
        arithmetic                         a fraction is a part divided by the whole
    """
    need(planned=planned)
    assert planned is not None
    amounts = tuple(given)
    total = sum((amount.to("mL") for amount in amounts), qty(0, "mL"))
    within("intake", delivered=total, planned=planned, density=density)
    fraction = (total / planned).to("")
    remark = "as_planned" if total == planned else "less_than_planned" if total < planned else "more_than_planned"
    facts = {"missing_volume": max(qty(0, "mL"), (planned - total).to("mL")),
             "over_volume": max(qty(0, "mL"), (total - planned).to("mL")),
             "percent": fraction.to("%"),
             "energy": None if density is None else (total * density).to("kcal")}
    figures = {"delivered": Figure(total), "planned": Figure(planned.to("mL")), "fraction": Figure(fraction)}
    working = (*(("given", amount) for amount in amounts), ("delivered", total), ("planned", planned),
               ("fraction", fraction))
    return Outcome(figures, working, ("arithmetic",), (remark,), facts=facts)
