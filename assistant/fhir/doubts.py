"""What an order leaves open: one question for every place with two readings, and for what a plan cannot be without.

A question has closed choices, or takes a value typed (`path` names the key of the plan that it fills). Whoever asks
adds "I am not sure", which ends without a plan. The questions come in the order of the functions in ASKED.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from assistant.fhir.free_text import numbers_in
from assistant.fhir.order import Order
from assistant.fhir.reading import NotAnOrder
from assistant.fhir.readings import Answers, chosen, daily_ml, energies, in_codes
from assistant.fhir.schedule import DAY, Given
from assistant.fhir.units import exact
from assistant.household.plan_keys import METHODS, ROUTES


@dataclass(frozen=True)
class Choice:
    code: str
    value: Any
    facts: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True)
class Doubt:
    """One question: `code` names its sentence in knowledge/fhir_en.toml [asks], `key` its place among the answers."""

    key: str
    code: str
    facts: Mapping[str, object] = field(default_factory=dict)
    choices: tuple[Choice, ...] = ()
    path: str = ""
    may_skip: bool = False


def next_doubt(order: Order, answers: Answers) -> Doubt | None:
    """The first question without an answer; None when all are answered. Raises NotAnOrder on a contradiction."""
    for ask in ASKED:
        for doubt in ask(order, answers):
            if doubt.key not in answers:
                return doubt
    return None


def _zone(order: Order, answers: Answers) -> Iterator[Doubt]:
    yield Doubt("timezone", "timezone", path="timezone")


def _route(order: Order, answers: Answers) -> Iterator[Doubt]:
    known = [route for route in order.routes if route in ROUTES]
    if len(order.routes) == 1 and known:
        return
    code = "route_mouth" if "mouth" in order.routes else "route_differs" if len(known) > 1 else "route_unclear"
    among = known if code == "route_differs" else list(ROUTES)
    yield Doubt("route", code, {"said": order.route_said or "-"}, tuple(Choice("plain", one, {"what": one})
                                                                      for one in among))


def _units(order: Order, answers: Answers) -> Iterator[Doubt]:
    amounts = [amount for feed in order.feeds for amount in (feed.volume, feed.rate)] + [order.daily]
    for amount in amounts:
        if amount is not None and not amount.sure:
            code = "unit_differs" if len(amount.readings) > 1 else "unit_text"
            yield Doubt(f"unit {amount.where}", code, {"where": amount.where, "said": amount.said}, tuple(
                Choice("plain", reading, {"what": f"{exact(amount.number)} {reading}"}) for reading in amount.readings))


def _energy(order: Order, answers: Answers) -> Iterator[Doubt]:
    amount = order.energy
    if amount is None:
        yield Doubt("energy", "energy_missing", path="formula.energy")
        return
    readings = energies(order)
    coded = energies(replace(order, words=(), product=""))
    if not coded:
        raise NotAnOrder("energy_beyond", said=amount.said)
    small = bool(amount.unit().get("small"))
    if amount.sure and not small and len(readings) == 1:
        return
    code = "energy_small" if small else "energy_unit" if not amount.sure else "energy_differs"
    literal = f"{exact(amount.kcal_per_ml(thousandth=True).quantize(Decimal('0.00001')))} kcal/mL"
    differ = len(readings) > 1
    yield Doubt("energy", code + ("_differs" if small and differ else ""), {"said": amount.said, "literal": literal},
                tuple(Choice("plain", text, {"what": text}) for text in readings))


def _additive(order: Order, answers: Answers) -> Iterator[Doubt]:
    if order.additives:
        yield Doubt("additive", "additive", {"said": "; ".join(order.additives)}, (Choice("additive_in", True),))


def rising(order: Order) -> list[Given]:
    """The rates without an end that follow each other, where there are several; else none."""
    found = [feed for feed in order.feeds if feed.continuous]
    if len(found) < 2:
        return []
    starts = [feed.start for feed in found]
    known = [start for start in starts if start is not None]
    if len(known) != len(found) or known != sorted(set(known)) or len(found) != len(order.feeds):
        raise NotAnOrder("rates_unclear")
    return found


def _pattern(order: Order, answers: Answers) -> Iterator[Doubt]:
    feeds = rising(order)
    if not feeds:
        return
    first, last = feeds[0].start, feeds[-1].start
    assert first is not None and last is not None
    within_a_day = (last - first).total_seconds() < DAY * 60
    rates = ", ".join(feed.rate.said for feed in feeds if feed.rate)
    choices = (Choice("steps", "steps"), *((Choice("daily", "daily"),) if within_a_day else ()))
    yield Doubt("pattern", "pattern", {"rates": rates}, choices)


def _times(order: Order, answers: Answers) -> Iterator[Doubt]:
    zone: ZoneInfo = answers["timezone"]
    starts = [feed.start for feed in order.feeds if feed.start is not None]
    written, local = ([f"{start:%H:%M}" for start in each] for each in (
        starts, [start.astimezone(zone) for start in starts]))
    if written != local:
        yield Doubt("times", "times", {"said": ", ".join(f"{start:%Y-%m-%d %H:%M%z}" for start in starts)}, (
            Choice("times_written", "written", {"times": ", ".join(written)}),
            Choice("times_instant", "instant", {"times": ", ".join(local), "zone": zone.key})))
    for n, feed in enumerate(order.feeds):
        if feed.start is None and not feed.clocks and feed.a_day is None:
            yield Doubt(f"start {n}", "first_start", {"n": n + 1}, path="feeds.start", may_skip=True)


def _method(order: Order, answers: Answers) -> Iterator[Doubt]:
    for n, feed in enumerate(order.feeds):
        if feed.rate is not None:
            yield Doubt("method rate", "method_rate", {}, (Choice("plain", "pump", {"what": "pump"}),))
            continue
        yield Doubt(f"method {n}", "method", {"n": n + 1}, tuple(Choice("plain", one, {"what": one})
                                                                 for one in METHODS))
        if answers.get(f"method {n}") == "pump" and feed.minutes is None:
            yield Doubt(f"over {n}", "over", {"n": n + 1}, path="feeds.over")


def _ml_a_day(feed: Given, answers: Answers) -> Decimal:
    """What one administration gives in a day; nothing for a rate without an end."""
    if feed.volume is not None:
        return feed.volume.ml(chosen(feed.volume, answers)) * feed.count
    if feed.rate is not None and feed.minutes is not None:
        return feed.rate.ml(chosen(feed.rate, answers)) * feed.minutes / 60 * feed.count
    return Decimal(0)


def _end(order: Order, answers: Answers) -> Iterator[Doubt]:
    most = daily_ml(order, answers)
    if order.daily is None or most is None:
        return
    if order.daily.measure == "volume":
        yield Doubt("most", "most_without_time", {"said": order.daily.said}, (Choice("a_day", True),))
    total = sum((_ml_a_day(feed, answers) for feed in order.feeds), Decimal(0))
    if total > most:
        raise NotAnOrder("over_most", total=f"{exact(total)} mL", most=f"{exact(most)} mL")
    if any(feed.continuous for feed in order.feeds):
        if total:
            raise NotAnOrder("rates_unclear")
        yield Doubt("end", "end", {"said": order.daily.said}, (
            Choice("end_most", "most", {"most": order.daily.said}), Choice("end_open", "open")))


def _words(order: Order, answers: Answers) -> Iterator[Doubt]:
    if not order.words:
        return
    beyond = [said.said for text in order.words for said in numbers_in(text) if not in_codes(said, order, answers)]
    said = " / ".join(order.words)
    more = Choice("words_kept", "more")
    if beyond:
        yield Doubt("words", "words_beyond", {"said": said, "beyond": ", ".join(beyond)}, (more,))
    else:
        yield Doubt("words", "words", {"said": said}, (Choice("words_same", "same"), more))


ASKED = (_zone, _route, _units, _energy, _additive, _pattern, _times, _method, _end, _words)
