"""Laws of energy, protein, water and mixing: they grow with the volume and keep what they started from."""

from __future__ import annotations

from decimal import Decimal

from hypothesis import assume, given
from hypothesis import strategies as st
from laws import amounts, densities, near, quick, value, volumes

from rules.calculators import calculator
from rules.quantity import Quantity, number, qty


@quick
@given(volumes, densities, amounts("1", "150", "g/L"), amounts("2", "150", "kg"))
def test_energy_and_protein_grow_with_the_volume(
    volume: Quantity, density: Quantity, content: Quantity, weight: Quantity
) -> None:
    energy = value("energy", "energy", volume=volume, density=density)
    assert value("energy", "energy", volume=volume * 2, density=density) == energy * 2
    protein = value("protein", "protein", volume=volume, content=content)
    assert value("protein", "protein", volume=volume * 2, content=content) == protein * 2
    each = calculator("per_kg")(volume=volume, weight=weight, density=density).figures
    assert near(number(each["energy"].value, "kcal/kg/day") * weight / qty(1, "kg") * qty(1, "kcal"), energy)
    assert near(each["volume"].value, value("per_kg", "volume", volume=volume * 2, weight=weight * 2))


@quick
@given(volumes, st.decimals(1, 2, places=2), amounts("1", "120", "mL"), st.integers(0, 8), st.integers(0, 12),
       amounts("500", "3000", "mL"))
def test_water_and_what_is_short_reach_the_goal(
    volume: Quantity, density: Decimal, flush: Quantity, feeds: int, medicines: int, goal: Quantity
) -> None:
    takes = {"volume": volume, "density": qty(density, "kcal/mL"), "flush": flush, "before_feed": True, "feeds": feeds,
             "medicines": medicines, "goal": goal}
    found = calculator("water")(**takes).figures
    assert found["water"].value + found["short"].value >= goal
    assert found["short"].value == qty(0, "mL") or found["water"].value + found["short"].value == goal
    more = value("water", "water", **{**takes, "medicines": medicines + 1})
    assert near(more - found["water"].value, flush, Decimal("1e-9"))
    thicker = value("water", "water", **{**takes, "density": qty(2, "kcal/mL")})
    assert thicker <= found["water"].value


@quick
@given(st.lists(amounts("0", "300", "mL"), max_size=6), volumes)
def test_intake_is_the_sum_whatever_the_order(amounts_in: list[Quantity], planned: Quantity) -> None:
    found = calculator("intake")(given=amounts_in, planned=planned)
    turned = calculator("intake")(given=amounts_in[::-1], planned=planned)
    assert found.figures["delivered"].value == turned.figures["delivered"].value
    total = found.figures["delivered"].value
    assert total + found.facts["missing_volume"] == planned + found.facts["over_volume"]


@quick
@given(volumes, densities, amounts("1", "1000", "mL"))
def test_thinning_keeps_the_energy(volume: Quantity, density: Quantity, water: Quantity) -> None:
    found = calculator("strength")(volume=volume, density=density, water=water)
    assert near((found.figures["energy"].value * (volume + water)).to("kcal"), (volume * density).to("kcal"))
    assert found.defers
    assume(found.figures["energy"].value >= qty("0.1", "kcal/mL"))
    back = calculator("strength")(volume=volume, density=density, target=found.figures["energy"].value)
    assert near(back.figures["water_added"].value, water, Decimal("1e-9"))


RECIPE = {"recipe_powder": qty(44, "g"), "recipe_water": qty(180, "mL"), "recipe_makes": qty(210, "mL"),
          "recipe_scoop": qty("8.8", "g")}


@quick
@given(amounts("10", "2000", "mL"))
def test_mixing_keeps_the_recipes_proportion(makes: Quantity) -> None:
    found = calculator("mix")(makes=makes, **RECIPE).figures
    assert near(found["powder"].value / found["water"].value, RECIPE["recipe_powder"] / RECIPE["recipe_water"])
    assert near((found["scoops"].value * RECIPE["recipe_scoop"]).to("g"), found["powder"].value)
    back = calculator("mix")(water=found["water"].value, **RECIPE).figures
    assert near(back["makes"].value, makes)
