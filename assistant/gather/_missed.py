"""How far behind a feed is by the log: all that never went in of one that is over, or what was to be in by now."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from assistant.gather._had import several_had
from assistant.gather._shared import feed, ordered_rate
from assistant.gather._when import end_while_it_runs, planned_start
from assistant.household.care_plan import Feed
from assistant.night import feed_time, feed_volume
from assistant.numbers.wants import Ask
from assistant.slots import Slots
from rules.clock import before, between, later
from rules.quantity import qty

MISSED_WHOLE = (
    r"forgot\w*",
    r"missed",
    r"skipp\w*",
    r"didn'?t (?:give|do|get|have)",
    r"never (?:gave|got|had)",
    r"without (?:his|her|their|the)",
    r"slept (?:right |straight |clean |all the way )?through",
)


def ended_by_log(slots: Slots) -> Feed | None:
    """The feed that ran last by the log and is over, where none is named."""
    state = slots.night.state
    if state is None or state.stopped_at is None or slots.night.feeds_named(slots.said.heard.text):
        return None
    return next((f for f in slots.night.feeds if f.name == state.feed), None)


def of_several(slots: Slots, shared: dict[str, Any]) -> Mapping[str, Any] | None:
    """ "How much is she short on the two of them": the plan's amounts of those feeds less what went in by the log."""
    states = several_had(slots) if slots.night.events else []
    if not states:
        return None
    planned, given = qty(0, "mL"), qty(0, "mL")
    for state in states:
        of = next((f for f in slots.night.feeds if f.name == state.feed), None)
        whole = feed_volume(of) if of is not None else state.limit
        if whole is None or state.given is None:
            raise Ask("volume", code="how_much_in")
        planned, given = (planned + whole).to("mL"), (given + min(state.given, whole)).to("mL")
    slots.fill("planned", planned, "care plan")
    slots.fill("given", given, "feed log")
    return {"planned": planned, "given": given, "rate": None, **shared}


def without_a_time(slots: Slots, shared: dict[str, Any], planned: Any, runs_at: Any) -> Mapping[str, Any]:
    state, of = slots.night.state, feed(slots) or ended_by_log(slots)
    if planned is not None and slots.said.has(*MISSED_WHOLE) and slots.night.feeds_named(slots.said.heard.text):
        slots.fill("planned", planned, "care plan")
        return {"planned": planned, "given": qty(0, "mL"), "rate": runs_at, **shared}
    if state is None or state.given is None or (planned is None and state.limit is None):
        raise Ask("off")
    slots.fill("given", state.given, "feed log")
    should, ends = state.limit if state.limit is not None else planned, {}
    begins = planned_start(slots, of) if of is not None else None
    if not (state.running and begins is not None and runs_at is not None):
        slots.fill("planned", should, "care plan" if should == planned else "feed log")
        return {"planned": should, "given": min(state.given, should), "rate": runs_at, **shared}
    if before(shared["now"], begins):
        begins -= timedelta(days=1)  # "tonight", said while it runs; the same wall-clock time: local arithmetic
    hours = max(qty(0, "h"), between(begins, shared["now"]))  # still on: behind what the plan has by now
    ordered = ordered_rate(slots)
    should = min(should, ((ordered if ordered is not None else runs_at) * hours).to("mL"))
    length = feed_time(of) if of is not None else None  # what is short comes after the planned end
    ends = {"planned_finish": later(begins, length)} if length is not None else end_while_it_runs(slots, of)
    slots.fill("by_now", should, "care plan")
    if state.left is not None:
        slots.fill("feed_left", state.left, "feed log")
        slots.remarks.append("still_running")
    return {"planned": should, "given": min(state.given, should), "rate": runs_at, **ends, **shared}
