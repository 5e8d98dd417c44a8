"""Laws of supplies and kit: enough and no more, there and back; and never both an answer and a refusal."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import assume, given, settings
from hypothesis import strategies as st
from laws import amounts, near, quick, rates, value, volumes

from rules.calculators import calculator, names
from rules.limits import possible
from rules.outcome import REFUSALS, CannotAnswer, Outcome
from rules.quantity import Quantity, number, qty


@quick
@given(volumes, amounts("50", "1500", "mL"), st.integers(1, 60), st.booleans())
def test_containers_are_enough_and_no_more(volume: Quantity, container: Quantity, days: int, keeps: bool) -> None:
    found = calculator("containers")(volume=volume, container=container, days=qty(days, "day"), keeps=keeps).figures
    count, left = number(found["containers"].value, "1"), found["leftover"].value
    assert count == int(count) and container * count == volume * days + left and left >= qty(0, "mL")
    assert left < container * (1 if keeps else days)


@quick
@given(st.integers(1, 500), amounts("100", "1000", "mL"), amounts("200", "3000", "mL"), st.integers(0, 90),
       st.integers(0, 30))
def test_each_day_later_is_a_day_less(stock: int, size: Quantity, daily: Quantity, since: int, lead: int) -> None:
    counted = date(2026, 10, 1)
    takes = {"stock": qty(stock, "1"), "container": size, "daily": daily, "counted": counted,
             "reorder_lead": qty(lead, "day")}
    first = calculator("supply")(today=counted, **takes).figures
    after = calculator("supply")(today=counted + timedelta(days=since), **takes).figures
    assert near(first["days"].value, after["days"].value + qty(since, "day"), Decimal("1e-9"))
    assert first["runs_out"].value == after["runs_out"].value
    assert first["runs_out"].value - first["reorder_by"].value == timedelta(days=lead)
    assert Decimal((first["runs_out"].value - counted).days) <= number(first["days"].value, "day")
    closed = calculator("supply")(today=counted, keeps=False, **takes).facts
    assert closed["whole_days"] <= first["days"].value and closed["whole_reorder_by"] <= first["reorder_by"].value
    assert size * number(closed["whole_a_day"], "1") >= daily > size * (number(closed["whole_a_day"], "1") - 1)


@quick
@given(rates, st.sampled_from([10, 12, 15, 20, 60]))
def test_drops_go_there_and_back(rate: Quantity, factor: int) -> None:
    set_factor = qty(factor, "drop/mL")
    found = calculator("drops")(rate=rate, drop_factor=set_factor).figures
    counted = found["drops"].value * qty(10, "min")
    assume(counted <= qty(1000, "drop"))
    assume(counted >= qty(1, "drop"))
    back = calculator("drops")(counted=counted, counted_over=qty(10, "min"), drop_factor=set_factor).figures
    assert near(back["rate"].value, rate)
    assert near(found["drops"].value * found["seconds_per_drop"].value, qty(1, "drop"))


@quick
@given(amounts("1", "600", "mL"), amounts("5", "100", "mL"), amounts("5", "60", "min"))
def test_syringes_hold_the_feed(volume: Quantity, size: Quantity, over: Quantity) -> None:
    found = calculator("syringe")(volume=volume, syringe=size, over=over)
    fills = number(found.figures["fills"].value, "1")
    assert size * (fills - 1) < volume <= size * fills
    assert found.figures["each"].value * (fills - 1) + found.facts["last"] == volume
    assert found.figures["minutes"].value == over
    assert calculator("battery")(lasts=qty(18, "h"), at=qty(125, "mL/h"), rate=qty(85, "mL/h")).figures[
        "duration"].value == qty(18, "h")


@quick
@given(st.sampled_from([("mL", "floz_us"), ("L", "cup"), ("kg", "lb"), ("g", "oz"), ("kcal", "kJ"), ("Fr", "mm"),
                        ("mL/h", "floz_us/h"), ("kcal/mL", "kcal/floz_us"), ("degC", "degF"), ("cm", "in")]),
       st.decimals(1, 100, places=2))
def test_conversions_go_there_and_back(pair: tuple[str, str], amount: Decimal) -> None:
    there = value("convert", "value", amount=qty(amount, pair[0]), to=pair[1])
    back = value("convert", "value", amount=there, to=pair[0])
    assert near(back, qty(amount, pair[0]))
    assert value("convert", "value", amount=qty(amount, pair[0]), to=pair[0]) == qty(amount, pair[0])


anything = st.decimals(Decimal("-10"), Decimal("20000"), places=1)


@settings(max_examples=40, deadline=None)
@given(anything, anything, st.sampled_from(sorted(set(names()) & {
    "bag_duration", "rate_needed", "energy", "protein", "per_kg", "syringe", "containers", "change_rate"})))
def test_no_amounts_give_both_an_answer_and_a_refusal(one: Decimal, other: Decimal, name: str) -> None:
    takes = {
        "bag_duration": {"volume": qty(one, "mL"), "rate": qty(other, "mL/h")},
        "rate_needed": {"volume": qty(one, "mL"), "over": qty(other, "min")},
        "energy": {"volume": qty(one, "mL"), "density": qty(other, "kcal/mL")},
        "protein": {"volume": qty(one, "mL"), "content": qty(other, "g/L")},
        "per_kg": {"volume": qty(one, "mL"), "weight": qty(other, "kg")},
        "syringe": {"volume": qty(one, "mL"), "syringe": qty(other, "mL")},
        "containers": {"volume": qty(one, "mL"), "container": qty(other, "mL")},
        "change_rate": {"rate": qty(one, "mL/h"), "volume": qty(other, "mL")},
    }[name]
    inside = all(low <= amount <= high for key, amount in takes.items() for low, high in [possible(name, key)]
                 if (name, key) != ("rate_needed", "rate"))
    try:
        found = calculator(name)(**takes)
    except CannotAnswer as refusal:
        assert refusal.code in REFUSALS and not inside
    else:
        assert isinstance(found, Outcome) and found.figures and found.sources and inside
