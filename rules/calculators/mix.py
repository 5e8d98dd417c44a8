from __future__ import annotations

from rules.limits import within
from rules.outcome import CannotAnswer, Figure, Outcome
from rules.quantity import Quantity, number


def mix(
    *, recipe_powder: Quantity | None = None, recipe_water: Quantity | None = None,
    recipe_makes: Quantity | None = None,
    recipe_scoop: Quantity | None = None, makes: Quantity | None = None, powder: Quantity | None = None,
    water: Quantity | None = None, scoops: Quantity | None = None,
) -> Outcome:
    """The care plan's powder recipe for another amount, in the same proportion. Never stronger or thinner.

    Takes
        recipe_powder  g   0.1 to 2000   powder of the recipe
        recipe_water   mL  1 to 5000     water of the recipe
        recipe_makes   mL  1 to 5000     what the recipe makes
        recipe_scoop   g   0.5 to 100    one level scoop
        makes          mL  1 to 5000     what is wanted; or
        powder         g   0.1 to 2000   powder at hand; or
        water          mL  1 to 5000     water at hand; or
        scoops         1   0.25 to 100   scoops at hand; none of the four is the recipe as written
    Gives
        powder  g
        scoops  count                    where the scoop is known
        water   mL
        makes   mL
    Refuses
        not_taught                       the plan holds no recipe (or no scoop): none is assumed
        beyond_possible                  an amount outside its range
    Remarks
        part_of_a_scoop                  not a whole number of scoops: weigh the powder, or ask the care team
        recipe_as_written                nothing was scaled
    Source
        arithmetic                       the recipe's own proportion
    """
    if recipe_powder is None or recipe_water is None or recipe_makes is None:
        raise CannotAnswer("not_taught", name="recipe")
    if scoops is not None and recipe_scoop is None:
        raise CannotAnswer("not_taught", name="scoop")
    within("mix", recipe_powder=recipe_powder, recipe_water=recipe_water, recipe_makes=recipe_makes,
           recipe_scoop=recipe_scoop, makes=makes, powder=powder, water=water, scoops=scoops)
    if scoops is not None and recipe_scoop is not None:
        powder = scoops * recipe_scoop
    asked = ((makes, recipe_makes), (powder, recipe_powder), (water, recipe_water))
    wanted, of = next(((want, base) for want, base in asked if want is not None), (recipe_makes, recipe_makes))

    def scaled(part: Quantity, unit: str) -> Quantity:
        amount: Quantity = (part * wanted / of).to(unit)        # multiplied before divided: a third of nine is three
        return amount

    figures = {"powder": Figure(scaled(recipe_powder, "g")), "water": Figure(scaled(recipe_water, "mL")),
               "makes": Figure(scaled(recipe_makes, "mL"))}
    working = [("recipe_powder", recipe_powder), ("recipe_water", recipe_water), ("recipe_makes", recipe_makes),
               ("times", (wanted / of).to(""))]
    remarks = ["recipe_as_written"] * (wanted == of)
    if recipe_scoop is not None:
        needed = (recipe_powder * wanted / of / recipe_scoop).to("")
        figures["scoops"] = Figure(needed)
        working.append(("scoop", recipe_scoop))
        remarks += ["part_of_a_scoop"] * (number(needed, "1") != number(needed, "1").to_integral_value())
    working += [(name, figure.value) for name, figure in figures.items()]
    return Outcome(figures, tuple(working), ("arithmetic",), tuple(remarks), facts={"times": (wanted / of).to("")})
