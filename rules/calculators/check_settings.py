from __future__ import annotations

from rules.limits import within
from rules.outcome import CannotAnswer, Figure, Outcome
from rules.quantity import Quantity, qty
from rules.slip import slip


def check_settings(
    *, rate: Quantity | None = None, volume: Quantity | None = None, plan_rate: Quantity | None = None,
    plan_volume: Quantity | None = None, kit_highest: Quantity | None = None, density: Quantity | None = None,
    plan_density: Quantity | None = None,
) -> Outcome:
    """Whether what was set on the pump, measured out or printed on the label is what the care plan says.

    Takes
        rate         mL/h  0.1 to 1000  rate that was entered; outside the range it is reported, not refused
        volume       mL    0.5 to 5000  volume that was entered; outside the range it is reported, not refused
        plan_rate    mL/h  0.1 to 1000  the care plan's rate
        plan_volume  mL    0.5 to 5000  the care plan's volume
        kit_highest  mL/h  0.1 to 1000  highest rate of the pump
        density      kcal/mL 0.3 to 4   strength on the label; outside the range it is reported, not refused
        plan_density kcal/mL 0.3 to 4   the care plan's strength
    Gives
        matches  yes or no              every entered number is the plan's
        factor   1                      entered divided by the plan's, of the first number that differs, else 1
    Refuses
        missing                         nothing entered, or the plan has no number to compare with
        beyond_possible                 a number of the plan outside its range
    Remarks
        the slip's code (rules.slip.SLIPS), `other` where it is none; also facts `slip`, `which` (rate, volume
        or density), `slips` (every number that differs, with its slip and factor)
        volume_not_checked              the plan has no volume to compare with
        rate_not_checked                the plan has no rate to compare with
        density_not_checked             the plan has no strength to compare with
    Source
        arithmetic                      a factor is what was entered divided by what was ordered
    """
    within("check_settings", plan_rate=plan_rate, plan_volume=plan_volume, kit_highest=kit_highest,
           plan_density=plan_density)
    if rate is None and volume is None and density is None:
        raise CannotAnswer("missing", name="rate")
    checked, remarks = [], []
    slips: dict[str, tuple[str, Quantity | None]] = {}
    for which, entered, planned, other in (
        ("rate", rate, plan_rate, plan_volume), ("volume", volume, plan_volume, plan_rate),
        ("density", density, plan_density, None),
    ):
        if entered is None:
            continue
        code = slip(entered, planned, other=other, kit_highest=kit_highest)
        if planned is None:
            if code is None:
                remarks.append(f"{which}_not_checked")
                continue
            slips[which] = (code, None)
            continue
        factor = (entered / planned).to("")
        checked.append((which, entered, planned, factor))
        if factor != qty(1, "1"):
            slips[which] = (code or "other", factor)
    if not checked and not slips:
        raise CannotAnswer("missing", name=remarks[0].replace("_not_checked", ""))
    return _outcome(checked, slips, remarks)


def _outcome(checked: list[tuple[str, Quantity, Quantity, Quantity]], slips: dict[str, tuple[str, Quantity | None]],
             remarks: list[str]) -> Outcome:
    figures = {"matches": Figure(not slips)}
    which, (code, factor) = next(iter(slips.items()), ("", ("", qty(1, "1"))))
    if factor is not None:
        figures["factor"] = Figure(factor)
    working = tuple(step for name, entered, planned, _ in checked
                    for step in ((name, entered), (f"plan_{name}", planned)))
    codes = dict.fromkeys(found for found, _ in slips.values())
    return Outcome(figures, working or (("matches", False),), ("arithmetic",), (*codes, *remarks),
                   facts={"slip": code or None, "which": which or None, "slips": slips})
