"""Laws that every calculator keeps for any amounts: proportions, there and back, bounds, and never both an answer
and a refusal."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from rules.calculators import calculator, names
from rules.calculators.timetable import DayFeed
from rules.clock import before, between, later
from rules.figures import FORMS
from rules.hang_limit import hang_limit
from rules.limits import possible
from rules.outcome import REFUSALS, CannotAnswer, Outcome
from rules.quantity import Quantity, number, qty
from rules.slip import SLIPS, slip
from rules.steps import stretches, time_for, volume_of

CHICAGO = ZoneInfo("America/Chicago")
DUST = Decimal("1e-18")
quick = settings(max_examples=60, deadline=None)


def amounts(low: str, high: str, unit: str, places: int = 1) -> st.SearchStrategy[Quantity]:
    return st.decimals(Decimal(low), Decimal(high), places=places).map(lambda value: qty(value, unit))


volumes = amounts("1", "2500", "mL")
rates = amounts("1", "400", "mL/h")
times = amounts("0.5", "24", "h")
shares = amounts("1", "20", "%")
densities = amounts("0.5", "2", "kcal/mL", 2)
instants = st.datetimes(datetime(2025, 1, 1), datetime(2028, 1, 1)).map(
    lambda naive: naive.replace(microsecond=0, tzinfo=UTC).astimezone(CHICAGO))


def near(one: Quantity, other: Quantity, dust: Decimal = DUST) -> bool:
    """Equal but for the last digits of a division."""
    return bool(abs(number(one / other, "1") - 1) < dust) if number(other, _unit(other)) else bool(one == other)


def _unit(amount: Quantity) -> str:
    from rules.quantity import unit_of
    return unit_of(amount)


def value(name: str, figure: str, **takes: Any) -> Any:
    return calculator(name)(**takes).figures[figure].value


@quick
@given(volumes, rates)
def test_twice_the_bag_lasts_twice_as_long_and_twice_the_rate_half(volume: Quantity, rate: Quantity) -> None:
    once = value("bag_duration", "duration", volume=volume, rate=rate)
    assert near(value("bag_duration", "duration", volume=volume * 2, rate=rate), once * 2)
    assert near(value("bag_duration", "duration", volume=volume, rate=rate * 2), once / 2)
    assert near((once * rate).to("mL"), volume)


@quick
@given(volumes, rates)
def test_other_units_give_the_same_time(volume: Quantity, rate: Quantity) -> None:
    once = value("bag_duration", "duration", volume=volume, rate=rate)
    assert near(once, value("bag_duration", "duration", volume=volume.to("L"), rate=rate.to("mL/min")))
    assert near(once, value("bag_duration", "duration", volume=volume.to("floz_us"), rate=rate.to("floz_us/h")))


@quick
@given(volumes, rates, amounts("1", "60", "mL"), shares, instants)
def test_priming_shortens_and_accuracy_brackets(
    volume: Quantity, rate: Quantity, priming: Quantity, accuracy: Quantity, start: datetime
) -> None:
    assume(volume > priming)
    full = value("bag_duration", "duration", volume=volume, rate=rate)
    found = calculator("bag_duration")(volume=volume, rate=rate, priming=priming, accuracy=accuracy, start=start)
    time = found.figures["duration"]
    assert time.value < full and near((full - time.value) * rate, priming, Decimal("1e-12"))
    assert time.low < time.value < time.high
    assert near(time.low * (1 + number(accuracy, "1")), time.value)
    assert near(time.high * (1 - number(accuracy, "1")), time.value)
    finish = found.figures["finish_at"]
    assert not before(finish.value, finish.low) and not before(finish.high, finish.value)


@quick
@given(instants, volumes, rates)
def test_start_by_undoes_finish_at(start: datetime, volume: Quantity, rate: Quantity) -> None:
    assume(volume / rate < qty(48, "h"))
    finish = value("finish_at", "finish_at", start=start, volume=volume, rate=rate)
    back = value("start_by", "start_at", finish=finish, volume=volume, rate=rate)
    assert abs(back.astimezone(UTC) - start.astimezone(UTC)) <= timedelta(microseconds=1)


@quick
@given(rates, times, volumes, shares)
def test_delivered_and_remaining_make_the_limit_and_never_pass_it(
    rate: Quantity, running: Quantity, limit: Quantity, accuracy: Quantity
) -> None:
    found = calculator("delivered")(rate=rate, running=running, volume_limit=limit, accuracy=accuracy).figures
    given_so_far, left = found["delivered"], found["remaining"]
    assert given_so_far.value + left.value == limit
    assert qty(0, "mL") <= given_so_far.low <= given_so_far.value <= given_so_far.high <= limit
    assert qty(0, "mL") <= left.low <= left.value <= left.high
    assert given_so_far.value == min((rate * running).to("mL"), limit)


@quick
@given(rates, rates, times, times)
def test_stretches_add_up(one: Quantity, other: Quantity, first: Quantity, second: Quantity) -> None:
    both = value("delivered", "delivered", segments=((one, first), (other, second)))
    apart = (value("delivered", "delivered", rate=one, running=first)
             + value("delivered", "delivered", rate=other, running=second))
    assert both == apart


@quick
@given(volumes, volumes, rates)
def test_remaining_and_given_make_the_total(one: Quantity, other: Quantity, rate: Quantity) -> None:
    total, part = max(one, other), min(one, other)
    found = calculator("remaining")(total=total, given=part, rate=rate).figures
    assert found["remaining"].value + part == total
    if found["remaining"].value > qty(0, "mL"):
        assert near((found["duration"].value * rate).to("mL"), found["remaining"].value)


@quick
@given(volumes, times)
def test_the_rate_needed_delivers_the_volume(volume: Quantity, over: Quantity) -> None:
    rate = value("rate_needed", "rate", volume=volume, over=over)
    assert near((rate * over).to("mL"), volume)
    assert near(value("rate_needed", "rate", volume=volume / 2, over=over), rate / 2)


@quick
@given(rates, rates, rates, rates, st.booleans())
def test_a_rate_is_the_familys_only_inside_both_limits(
    rate: Quantity, one: Quantity, other: Quantity, ordered: Quantity, may: bool
) -> None:
    low, high = min(one, other), max(one, other)
    found = calculator("change_rate")(rate=rate, lowest=low, highest=high, ordered=ordered, family_may_change=may)
    inside = low <= rate <= high
    assert found.figures["within_plan"].value is inside
    assert found.defers is not (inside and (may or rate == ordered))


@quick
@given(volumes, volumes, rates, rates, instants, times, st.booleans(), st.booleans())
def test_catch_up_never_asks_for_more_than_the_order_allows(
    one: Quantity, other: Quantity, rate: Quantity, highest: Quantity, now: datetime, window: Quantity,
    allowed: bool, capped: bool,
) -> None:
    planned, part = max(one, other), min(one, other)
    cap = highest if capped else None
    found = calculator("catch_up")(planned=planned, given=part, rate=rate, now=now, until=later(now, window),
                                   highest=cap, allowed=allowed)
    shortfall = found.figures["shortfall"].value
    assert shortfall + part == planned
    if not allowed:
        assert "rate" not in found.figures and found.defers is (shortfall > qty(0, "mL"))
        return
    if "rate" in found.figures:
        raised = found.figures["rate"].value
        assert cap is not None and rate < raised <= cap
        missing = found.facts["stays_missing"]
        assert near((raised * window).to("mL") + missing, shortfall, Decimal("1e-6"))
    assert found.defers is ("rest_missing" in found.remarks)


@quick
@given(rates, amounts("1", "24", "h"), volumes, amounts("1", "60", "mL"), amounts("100", "1500", "mL"))
def test_what_is_poured_hangs_no_longer_than_it_may(
    rate: Quantity, limit: Quantity, left: Quantity, priming: Quantity, bag: Quantity
) -> None:
    found = calculator("pour")(rate=rate, hang_limit=limit, feed_left=left, priming=priming, bag=bag)
    poured, fills = found.figures["pour"].value, number(found.figures["fills"].value, "1")
    runs = poured - priming
    assert qty(0, "mL") < poured <= bag
    assert runs <= (rate * limit).to("mL") and runs <= left
    later_fill = min((rate * limit).to("mL"), bag)
    assert runs + later_fill * (fills - 1) >= left * (1 - DUST)
    assert fills == 1 or runs + later_fill * (fills - 2) < left


@quick
@given(instants, amounts("1", "24", "h"), amounts("0", "48", "h"))
def test_left_and_gone_make_the_hang_limit(start: datetime, limit: Quantity, gone: Quantity) -> None:
    now = later(start, gone)
    found = calculator("discard_at")(clock_started=start, limit=limit, now=now, started_from="poured")
    assert near(found.figures["left"].value + between(start, now), limit, Decimal("1e-9"))
    assert ("limit_passed" in found.remarks) is (not before(now, found.figures["discard_at"].value))


@quick
@given(st.sampled_from(FORMS), st.booleans(), st.booleans(), st.none() | amounts("0.5", "48", "h"))
def test_no_plan_lengthens_a_published_hang_limit(
    form: str, infant: bool, weak: bool, plan: Quantity | None
) -> None:
    found = hang_limit(form, infant, weak, plan)
    assert found.limit <= found.published and (plan is None or found.limit <= plan)
    assert found.limit <= hang_limit(form, False, False, plan).limit
    assert found.limit <= hang_limit(form, False, False, None).limit


@quick
@given(rates, rates)
def test_settings_match_only_themselves(entered: Quantity, planned: Quantity) -> None:
    found = calculator("check_settings")(rate=entered, plan_rate=planned)
    assert found.figures["matches"].value is (entered == planned)
    assert near((found.figures["factor"].value * planned).to("mL/h"), entered)
    assert (found.facts["slip"] is None) is (entered == planned)
    assert found.facts["slip"] in {None, *SLIPS}


@quick
@given(amounts("1", "60", "mL/h", 0))
def test_a_slip_is_seen_from_both_sides(planned: Quantity) -> None:
    assert slip(planned, planned) is None
    assert slip(planned * 10, planned) == "tenfold" and slip(planned, planned * 10) == "tenth"
    assert slip(planned * 100, planned) == "hundredfold" and slip(planned, planned * 100) == "hundredth"


@pytest.mark.parametrize(("entered", "planned", "code"), [
    ("58", "85", "digit_swap"), ("5.8", "8.5", "digit_swap"), ("84", "85", None), ("850", "85", "tenfold"),
    ("8.5", "85", "tenth"), ("90", "85", None), ("120", "102", "digit_swap"), ("85.0", "85", None),
])
def test_slips_of_a_rate(entered: str, planned: str, code: str | None) -> None:
    assert slip(qty(entered, "mL/h"), qty(planned, "mL/h")) == code


def test_a_slip_needs_no_plan_to_be_impossible() -> None:
    assert slip(qty(5000, "mL/h"), None) == "impossible"
    assert slip(qty(0, "mL"), None) == "impossible"
    assert slip(qty(85, "mL/h"), None) is None
    assert slip(qty("1.3", "L/h"), None, kit_highest=qty(300, "mL/h")) == "above_kit"
    assert slip(qty(765, "mL/h"), qty(85, "mL/h"), other=qty(765, "mL")) == "swapped"


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


@quick
@given(instants, st.lists(st.tuples(amounts("1", "12", "h"), rates), min_size=1, max_size=4), rates, volumes)
def test_steps_take_as_long_as_they_deliver(
    start: datetime, raises: list[tuple[Quantity, Quantity]], first: Quantity, volume: Quantity
) -> None:
    steps, at = [], start
    for wait, rate in raises:
        at = later(at, wait)
        steps.append((at, rate))
    time = time_for(volume, start, first, steps)
    ran = volume_of(stretches(start, later(start, time), first, steps))
    assert abs(number(ran - volume, "mL")) < Decimal("0.001"), "an instant is kept to the microsecond"
    found = calculator("advance")(steps=steps, now=start, rate=first).figures
    assert found["rate"].value == first and found["next_at"].value == steps[0][0]
    assert "next_rate" not in calculator("advance")(steps=steps, now=at).figures


@quick
@given(instants, st.lists(st.tuples(amounts("0", "20", "h"), amounts("0.5", "4", "h")), max_size=4),
       amounts("1", "6", "h"))
def test_a_timetable_is_in_order_and_inside_its_day(
    start: datetime, spans: list[tuple[Quantity, Quantity]], every: Quantity
) -> None:
    end = later(start, qty(24, "h"))
    feeds = [DayFeed("a", later(start, wait), later(start, wait + run), "pump") for wait, run in spans]
    rows = calculator("timetable")(feeds=feeds, day_start=start, day_end=end, flush=qty(30, "mL"), every=every,
                                   before_feed=True, after_feed=True, hang_limit=qty(4, "h")).facts["rows"]
    at = [row.at.timestamp() for row in rows]
    assert at == sorted(at) and all(start.timestamp() <= moment < end.timestamp() for moment in at)
    assert sum(row.what == "feed_start" for row in rows) == len(spans)


@quick
@given(instants, amounts("0.5", "12", "h"), amounts("0", "10", "h"), amounts("1", "12", "h"))
def test_the_next_flush_comes_after_the_last_and_not_after_the_feed(
    start: datetime, every: Quantity, gone: Quantity, runs: Quantity
) -> None:
    last, finish = later(start, gone), later(start, gone + runs)
    found = calculator("flush")(volume=qty(60, "mL"), every=every, last=last, feed_started=start, feed_finish=finish,
                                after_feed=True)
    due = found.figures["next_at"].value
    assert before(last, due) and not before(finish, due)
    opened = calculator("opened_until")(opened_at=start, now=last).figures
    assert near(opened["left"].value + gone, qty(24, "h"), Decimal("1e-6"))
    assert value("prime", "priming", priming=qty(25, "mL")) == qty(25, "mL")


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
