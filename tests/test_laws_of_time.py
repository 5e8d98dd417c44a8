"""Laws of time and volume: proportions, there and back, what is given and left, hang limits, the day's order."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from decimal import Decimal

from hypothesis import assume, given
from hypothesis import strategies as st
from laws import DUST, amounts, instants, near, quick, rates, shares, times, value, volumes

from rules.calculators import calculator
from rules.calculators.timetable import DayFeed
from rules.clock import before, between, later
from rules.figures import FORMS
from rules.hang_limit import hang_limit
from rules.quantity import Quantity, number, qty
from rules.steps import stretches, time_for, volume_of


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
