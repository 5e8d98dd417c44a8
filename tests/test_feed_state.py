"""Where a feed stands, from its log alone."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from hypothesis import given, settings
from hypothesis import strategies as st

from rules.clock import between, later
from rules.feed_state import Event, FeedState, feed_state
from rules.quantity import Quantity, qty

ZONE = ZoneInfo("America/Chicago")
RATE, PLANNED = qty(85, "mL/h"), qty(765, "mL")


def at(hour: int, minute: int = 0, day: int = 25) -> datetime:
    return datetime(2026, 11, day, hour, minute, tzinfo=ZONE)


def state(*events: Event, now: datetime, rate: Quantity | None = RATE, **more: object) -> FeedState:
    return feed_state(events, now, plan_rate=rate, plan_volume=PLANNED, **more)      # type: ignore[arg-type]


START = Event(at(21), "feed_started", feed="overnight")


def test_an_empty_log_holds_no_feed() -> None:
    found = state(now=at(23))
    assert found.started is None and not found.running and found.given is None


def test_a_pause_is_taken_out() -> None:
    found = state(START, Event(at(23), "paused"), Event(at(23, 30), "resumed"), now=at(0, 30, 26))
    assert (found.given, found.left) == (qty(255, "mL"), qty(510, "mL"))
    assert found.paused_total == qty("0.5", "h") and found.running_time == qty(3, "h")
    assert found.ends_at == at(6, 30, 26) and found.feed == "overnight"


def test_while_paused_nothing_runs_and_no_end_is_told() -> None:
    found = state(START, Event(at(23), "paused"), now=at(1, 0, 26))
    assert (found.given, found.running, found.ends_at) == (qty(170, "mL"), False, None)
    assert found.paused_since == at(23) and found.paused_total == qty(2, "h")


def test_the_volume_limit_ends_it() -> None:
    found = state(START, now=at(9, 0, 26))
    assert (found.given, found.left, found.running) == (PLANNED, qty(0, "mL"), False)
    assert found.ends_at == found.stopped_at == at(6, 0, 26) and found.notes == ("limit_reached",)


def test_the_bag_ends_it_and_a_new_fill_goes_on() -> None:
    poured = Event(at(20, 50), "poured", qty(300, "mL"))
    found = state(poured, START, now=at(3, 0, 26), rate=qty(100, "mL/h"), priming=qty(25, "mL"))
    assert (found.given, found.notes, found.ends_at) == (qty(275, "mL"), ("bag_empty",), at(23, 45))
    found = state(poured, START, Event(at(0, 45, 26), "poured", qty(300, "mL")), now=at(1, 45, 26),
                  rate=qty(100, "mL/h"), priming=qty(25, "mL"))
    assert (found.given, found.notes, found.running) == (qty(375, "mL"), (), True)
    assert found.hang_events == {"poured": at(0, 45, 26)}


def test_an_unknown_rate_is_never_guessed() -> None:
    found = state(START, now=at(23), rate=None)
    assert (found.given, found.left, found.ends_at, found.notes) == (None, None, None, ("rate_unknown",))
    assert found.running_time == qty(2, "h")
    found = state(START, Event(at(23), "stopped", qty(200, "mL")), now=at(23, 30), rate=None)
    assert (found.given, found.left, found.running) == (qty(200, "mL"), qty(565, "mL"), False)


def test_a_rate_that_was_changed_to_nobody_knows_what() -> None:
    found = state(START, Event(at(22), "rate_changed"), now=at(23))
    assert found.given is None and found.rate is None


def test_a_stated_rate_counts_from_then_on() -> None:
    found = state(START, Event(at(22), "rate_changed", rate=qty(60, "mL/h")), now=at(23))
    assert (found.given, found.rate) == (qty(145, "mL"), qty(60, "mL/h"))
    assert found.ends_at == later(at(23), qty(620, "mL") / qty(60, "mL/h"))


def test_ordered_steps_are_summed_unless_somebody_says_what_ran() -> None:
    steps = ((at(22), qty(100, "mL/h")),)
    assert state(START, now=at(23), steps=steps).given == qty(185, "mL")
    said = Event(at(21), "feed_started", rate=RATE)
    assert state(said, now=at(23), steps=steps).given == qty(170, "mL")
    assert state(START, now=at(23), rate=None, steps=steps).given is None, "before the step nobody knows"


def test_a_reading_replaces_the_sum_and_one_above_the_limit_is_noted() -> None:
    found = state(START, Event(at(23), "paused", qty(150, "mL")), now=at(23))
    assert found.given == qty(150, "mL")
    found = state(START, Event(at(23), "stopped", qty(900, "mL")), now=at(23))
    assert found.given == PLANNED and "stated_above_limit" in found.notes


def test_stopped_and_resumed_is_a_pause() -> None:
    found = state(START, Event(at(22), "stopped"), Event(at(23), "resumed"), now=at(0, 0, 26))
    assert (found.given, found.paused_total, found.running) == (qty(170, "mL"), qty(1, "h"), True)


def test_only_the_latest_feed_counts_and_the_future_does_not() -> None:
    old = Event(at(12), "feed_started")
    found = state(old, Event(at(14), "stopped"), START, Event(at(23), "stopped"), now=at(22))
    assert (found.started, found.given, found.running) == (at(21), RATE * qty(1, "h"), True)


def test_flushes_sets_and_vomits_are_remembered() -> None:
    found = state(Event(at(20), "set_changed"), Event(at(20, 30), "vomited"), START, Event(at(22), "flushed"),
                  Event(at(22, 30), "vomited"), Event(at(22, 40), "vomited"), Event(at(22, 50), "vomited"),
                  now=at(23))
    assert (found.set_changed, found.last_flush, found.vomited) == (at(20), at(22), 3)
    found = state(Event(at(20), "set_changed"), Event(at(20, 30), "flushed"), now=at(23))
    assert (found.set_changed, found.last_flush, found.started) == (at(20), at(20, 30), None)


def test_running_time_is_real_time_on_the_night_the_clocks_go_forward() -> None:
    start = Event(datetime(2026, 3, 7, 21, tzinfo=ZONE), "feed_started")
    found = state(start, now=datetime(2026, 3, 8, 4, tzinfo=ZONE))
    assert found.given == qty(510, "mL"), "21:00 to 04:00 is six hours that night"


def test_the_amount_said_at_the_start_comes_before_the_plans() -> None:
    """300 mL at 100 mL/h are through after 3 h, and at that very moment it no longer runs."""
    found = state(Event(at(21), "feed_started", qty("0.3", "L")), now=at(0, 0, 26), rate=qty(100, "mL/h"))
    assert (found.given, found.limit, found.left) == (qty(300, "mL"), qty(300, "mL"), qty(0, "mL"))
    assert (found.running, found.stopped_at, found.notes) == (False, at(0, 0, 26), ("limit_reached",))


def test_the_end_is_told_through_the_ordered_steps() -> None:
    """85 mL in the first hour, and 680 mL at 100 mL/h: 7.8 h in all."""
    for now in (at(21, 30), at(9, 0, 26)):
        found = state(START, now=now, steps=((at(22), qty(100, "mL/h")),))
        assert found.ends_at == at(4, 48, 26)
    assert found.stopped_at == at(4, 48, 26) and found.running_time == qty("7.8", "h")


def test_the_limit_ends_it_after_a_pause_too_and_what_follows_changes_nothing() -> None:
    """765 mL at 85 mL/h take 9 h, and the pump stood for half an hour."""
    paused = (START, Event(at(23), "paused"), Event(at(23, 30), "resumed"))
    for after in ((), (Event(at(7, 0, 26), "stopped"),), (Event(at(7, 0, 26), "resumed"),),
                  (Event(at(7, 0, 26), "paused"),)):
        found = state(*paused, *after, now=at(8, 0, 26))
        assert (found.given, found.stopped_at, found.running) == (PLANNED, at(6, 30, 26), False)
        assert (found.notes, found.paused_total) == (("limit_reached",), qty("0.5", "h"))
        assert found.running_time == qty(9, "h") and found.paused_since is None
    found = state(*paused, Event(at(7, 0, 26), "stopped", qty(700, "mL")), now=at(8, 0, 26))
    assert (found.given, found.stopped_at) == (qty(700, "mL"), at(7, 0, 26)), "somebody read off what went in"


def test_what_ran_is_gone_from_the_bag_and_what_is_poured_on_is_in_it() -> None:
    """300 mL at 100 mL/h: an hour, half an hour's pause, and two hours more; with 100 mL poured on, three."""
    poured, pause = Event(at(20, 50), "poured", qty(300, "mL")), (Event(at(22), "paused"), Event(at(22, 30), "resumed"))
    on = Event(at(22, 10), "poured", qty("0.1", "L"))
    for more, end in (((), at(0, 30, 26)), ((on,), at(1, 30, 26))):
        for after in ((), (Event(at(2, 0, 26), "resumed"),)):
            found = state(poured, START, *pause, *more, *after, now=at(3, 0, 26), rate=qty(100, "mL/h"))
            assert (found.given, found.stopped_at) == (qty(400 if more else 300, "mL"), end)
            assert found.notes == ("bag_empty",)
    unknown = Event(at(22, 10), "poured")
    found = state(poured, START, *pause, unknown, now=at(3, 0, 26), rate=qty(100, "mL/h"))
    assert (found.given, found.running, found.notes) == (qty(550, "mL"), True, ()), "nobody said how much is in it"


def test_a_new_fill_goes_on_whatever_was_noted_before() -> None:
    """A slip of 900 mL is read as 100 mL later: 200 of the bag's 300 mL are left at 22:30, and end at 00:30."""
    found = state(Event(at(20, 50), "poured", qty(300, "mL")), START, Event(at(22), "paused", qty(900, "mL")),
                  Event(at(22, 30), "resumed", qty(100, "mL")), Event(at(1, 0, 26), "poured", qty(300, "mL")),
                  now=at(2, 0, 26), rate=qty(100, "mL/h"))
    assert (found.given, found.running, found.notes) == (qty(400, "mL"), True, ("stated_above_limit",))


def test_milk_poured_onto_what_still_hangs_has_the_older_ones_clock() -> None:
    """300 mL at 100 mL/h from 21:00: at 22:00 200 mL still hang, at 23:50 all but ten minutes' worth is gone."""
    poured = Event(at(20, 50), "poured", qty(300, "mL"))
    on, late = Event(at(22), "poured", qty(100, "mL")), Event(at(23, 50), "poured", qty(300, "mL"))
    found = state(poured, START, on, now=at(23), rate=qty(100, "mL/h"))
    assert found.hang_events == {"feed_started": at(21), "poured": at(20, 50)}
    found = state(poured, START, late, now=at(23, 55), rate=qty(100, "mL/h"))
    assert found.hang_events == {"poured": at(23, 50)}
    found = state(START, on, now=at(23), rate=qty(100, "mL/h"))          # what hung before it is not known
    assert found.hang_events == {"feed_started": at(21)}


def test_what_was_poured_for_a_feed_before_is_not_in_this_bag() -> None:
    old = Event(at(12), "feed_started")
    for log in ((Event(at(11), "poured", qty(100, "mL")), old),
                (old, Event(at(13), "poured", qty(100, "mL")), Event(at(14), "stopped"))):
        found = state(*log, START, now=at(23))
        assert (found.given, found.hang_events) == (qty(170, "mL"), {"feed_started": at(21)})
        found = state(*log, Event(at(20), "poured", qty(85, "mL")), START, now=at(23))
        assert (found.given, found.stopped_at) == (qty(85, "mL"), at(22))
        assert found.hang_events == {"feed_started": at(21), "poured": at(20)}


def test_a_rate_told_with_a_stop_is_not_the_rate_of_what_follows() -> None:
    found = state(START, Event(at(22), "stopped", rate=qty(10, "mL/h")), Event(at(23), "resumed"), now=at(0, 0, 26))
    assert (found.given, found.rate) == (qty(170, "mL"), RATE)


def test_a_reading_of_the_whole_amount_is_not_above_it() -> None:
    found = state(START, Event(at(23), "stopped", PLANNED), now=at(23))
    assert (found.given, found.notes) == (PLANNED, ())


kinds = st.sampled_from(["paused", "resumed", "rate_changed", "flushed", "poured", "vomited", "stopped"])
lines = st.tuples(st.integers(0, 900), kinds, st.none() | st.integers(1, 900), st.none() | st.integers(1, 200))


@settings(max_examples=150, deadline=None)
@given(st.lists(lines, max_size=8), st.integers(0, 1000))
def test_whatever_the_log_says_no_more_goes_in_than_the_limit(
    log: list[tuple[int, str, int | None, int | None]], until: int
) -> None:
    events = [Event(later(at(21), qty(minute, "min")), kind, None if volume is None else qty(volume, "mL"),
                    None if rate is None else qty(rate, "mL/h")) for minute, kind, volume, rate in log]
    now = later(at(21), qty(until, "min"))
    found = feed_state([START, *events], now, plan_rate=RATE, plan_volume=PLANNED)
    assert found == feed_state([*events[::-1], START][::-1], now, plan_rate=RATE, plan_volume=PLANNED) or len(
        {event.at for event in events}) < len(events)
    assert found.given is None or qty(0, "mL") <= found.given <= PLANNED
    assert found.given is None or (found.left is not None and found.given + found.left == PLANNED)
    spent = found.running_time + found.paused_total
    assert abs((spent - between(at(21), now)).magnitude) < Decimal("1e-6") or spent < between(at(21), now)
    assert not (found.running and found.paused_since)
