"""What the next carer, or the nurse line, needs to know: plan, log and conversation as lines, each with its origin.

A line without a figure that is known is left out: nothing is filled in. Sentences: knowledge/handover_en.toml.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from assistant import word
from assistant.household.day_log import day_total, feeds_since
from assistant.night import Night, feed_rate
from assistant.wording.record import plain_value
from knowledge.library import table
from rules.quantity import Quantity

LOOKS_BACK = timedelta(hours=24)
SOON = timedelta(hours=12)  # what is due by then stands in a handover
ODD_KINDS = ("vomited", "symptom", "rate_changed", "deferred")


@dataclass(frozen=True)
class Line:
    section: str  # ran | left | due | odd; for the nurse line situation | background | assessment | request
    name: str
    facts: dict[str, Any]
    origin: str  # feed log | care plan | reminders | conversation | standard

    def text(self, night: Night) -> str:
        return word.Facts(night, self.facts).text(table("handover_en")["lines"][self.name])

    def speech(self, night: Night) -> str:
        return word.Facts(night, self.facts).speech(table("handover_en")["lines"][self.name])

    def plain(self, night: Night) -> dict[str, Any]:
        """The line as JSON, every number unrounded."""
        values = {n: plain_value(v) for n, v in self.facts.items() if v is not None}
        return {
            "section": self.section,
            "name": self.name,
            "text": self.text(night),
            "from": self.origin,
            "values": values,
        }


def next_carer(night: Night) -> tuple[Line, ...]:
    """What ran, what is left, what is due, what was odd."""
    return (*_ran(night), *_left(night), *_due(night), *_odd(night))


def nurse_line(night: Night, asked: str | None = None) -> tuple[Line, ...]:
    """Situation, background, assessment (figures only) and request; `asked` is what the conversation was about."""
    lines = [*_situation(night, asked), *_background(night)]
    moved = [*_ran(night), *_left(night), *_odd(night)]
    lines += [Line("assessment", one.name, one.facts, one.origin) for one in moved]
    lines.append(Line("request", "request_decide", {}, "conversation"))
    return tuple(lines)


def _ran(night: Night) -> Iterator[Line]:
    for state in feeds_since(night, night.now - LOOKS_BACK):
        if state.started is None:
            continue
        facts = {"feed": state.feed, "started": state.started, "given": state.given, "rate": state.rate}
        named, known = "_named" if state.feed else "", "" if state.given is not None else "_unknown"
        yield Line("ran", f"ran{named}{known}", facts, "feed log")
        if state.paused_total.magnitude:
            yield Line("ran", "pauses", {"paused": state.paused_total}, "feed log")
        if state.stopped_at is not None:
            yield Line("ran", "ended", {"stopped": state.stopped_at}, "feed log")
    total = day_total(night)
    if total is not None and len(feeds_since(night, night.now - LOOKS_BACK)) > 1:
        yield Line("ran", "in_all", {"total": total}, "feed log")
    if night.state is not None and night.state.last_flush is not None:
        yield Line("ran", "flush", {"flush": night.state.last_flush}, "feed log")
    medicines = [e for e in night.events if e.kind == "medicine_given" and night.now - e.at <= LOOKS_BACK]
    if medicines:
        yield Line("ran", "medicine", {"at": medicines[-1].at, "times": str(len(medicines))}, "feed log")


def _left(night: Night) -> Iterator[Line]:
    state = night.state
    if state is None or state.started is None or state.stopped_at is not None:
        return
    if state.left is not None:
        yield Line("left", "left", {"left": state.left, "limit": state.limit}, "feed log")
    if state.paused_since is not None:
        yield Line("left", "paused_since", {"since": state.paused_since}, "feed log")


def _due(night: Night) -> Iterator[Line]:
    found = night.running
    if found is not None:
        if found.state.running and found.state.ends_at is not None:
            yield Line("due", "ends", {"ends": found.state.ends_at}, "feed log")
        if found.discard_at is not None:
            facts = {"discard": found.discard_at, "limit": night.hangs_for}
            yield Line("due", "discard", facts, "feed log and care plan")
        if found.next_flush is not None:
            yield Line("due", "next_flush", {"flush": found.next_flush}, "feed log and care plan")
    for one in night.reminders:
        due = datetime.fromisoformat(one["due"])
        if due - night.now <= SOON:
            yield Line("due", "reminder", {"at": due.astimezone(night.now.tzinfo), "what": one["what"]}, "reminders")


def _odd(night: Night) -> Iterator[Line]:
    for event in night.events:
        if event.kind in ODD_KINDS and timedelta(0) <= night.now - event.at <= LOOKS_BACK:
            facts = {"at": event.at, "rate": event.rate}
            name = "rate_changed_unknown" if event.kind == "rate_changed" and event.rate is None else event.kind
            yield Line("odd", name, facts, "conversation" if event.kind == "deferred" else "feed log")
    state = night.state
    if state is None or state.started is None:
        return
    ordered = _ordered_rate(night)
    if state.rate is not None and ordered is not None and state.rate != ordered:
        yield Line("odd", "not_ordered_rate", {"rate": state.rate, "ordered": ordered}, "feed log and care plan")
    for note in ("bag_empty", "rate_unknown", "stated_above_limit"):
        if note in state.notes:
            yield Line("odd", note, {}, "feed log")


def _ordered_rate(night: Night) -> Quantity | None:
    """The rate the plan orders now for the feed that the log has as on."""
    order = night.plan_of_feed(night.now)
    begun = [rate for since, rate in order["steps"] if since <= night.now]
    return begun[-1] if begun else order["plan_rate"]


def _situation(night: Night, asked: str | None) -> Iterator[Line]:
    yield Line("situation", "now", {"now": night.now}, "clock")
    if asked:
        yield Line("situation", "asked", {"asked": asked}, "conversation")


def _background(night: Night) -> Iterator[Line]:
    plan = night.plan
    if plan is None:
        return
    routes = table("sentences_en")["plan"]["routes"]
    weight, group = plan.person.weight, plan.person.age_group_on(night.today)
    if group:
        yield Line("background", "person", {"group": table("handover_en")["groups"][group]}, "care plan")
    if weight is not None:
        yield Line("background", "weight", {"weight": weight}, "care plan")
    yield Line("background", "route", {"route": routes[plan.route]}, "care plan")
    yield Line("background", "formula", {"energy": plan.formula.energy}, "care plan")
    for feed in plan.feeds:
        facts = {"feed": feed.name, "volume": feed.volume, "rate": feed_rate(feed), "start": feed.start}
        known = "_".join(n for n in ("volume", "rate") if facts[n] is not None)
        yield Line("background", f"feed_{known}" if known else "feed", facts, "care plan")
