"""An order and the answers to its questions -> a care plan as TOML, with what a plan cannot hold in lines on top."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from datetime import datetime, timedelta
from decimal import ROUND_DOWN, Decimal
from typing import Any
from zoneinfo import ZoneInfo

from assistant.fhir.doubts import rising
from assistant.fhir.order import Order
from assistant.fhir.reading import NotAnOrder
from assistant.fhir.readings import Answers, chosen, daily_ml, energies
from assistant.fhir.schedule import DAY, Given
from assistant.fhir.units import Measured, exact
from assistant.household.plan_reader import read_values
from assistant.household.plan_values import LONGEST_WORDS
from assistant.household.plan_writer import toml_text
from knowledge.library import table

Values = dict[str, Any]


def sentence(part: str, code: str, **facts: object) -> str:
    """One sentence of knowledge/fhir_en.toml, filled in."""
    return str(table("fhir_en")[part][code]).format(**facts)


def plan_text(order: Order, answers: Answers) -> str:
    """The plan as TOML, read back whole before it is given. Raises PlanFaults, and NotAnOrder on a contradiction."""
    text = "".join(f"{line}\n" for line in _header(order, answers)) + toml_text(_values(order, answers))
    read_values(text, sentence("says", "made_plan"))
    return text


def _header(order: Order, answers: Answers) -> Iterator[str]:
    lines = [sentence("header", "from", release=order.release, issued=order.issued or "-")]
    if order.practice:
        lines.append(sentence("header", "practice"))
    if days := sorted({feed.day for feed in order.feeds if feed.day is not None}):
        lines.append(sentence("header", "begins", day=days[0]))
    if order.daily is not None:
        lines.append(sentence("header", "most", said=order.daily.said))
    lines += [sentence("header", "additive", said=said) for said in order.additives]
    lines += [sentence("header", "words", said=said) for said in order.words]
    for line in lines:
        yield from textwrap.wrap(line, 116, initial_indent="# ", subsequent_indent="#   ", break_on_hyphens=False)


def _values(order: Order, answers: Answers) -> Values:
    route = answers.get("route") or order.routes[0]
    energy = answers.get("energy") or next(iter(energies(order)))
    formula: Values = {"energy": energy}
    name = order.product or order.kind
    if 0 < len(name) <= LONGEST_WORDS:
        formula["name"] = name
    feeds, steps = _feeds(order, answers)
    values: Values = {"route": route, "timezone": answers["timezone"], "formula": formula, "feeds": feeds}
    amounts = [amount for feed in order.feeds for amount in (feed.volume, feed.rate) if amount]
    if "fl oz" in str(energy) or any(amount.unit(chosen(amount, answers)).get("us") for amount in amounts):
        values["units"] = "us"
    if order.issued:
        values["issued"] = order.issued
    if steps:
        values["steps"] = steps
    return values


def _feeds(order: Order, answers: Answers) -> tuple[list[Values], list[Values]]:
    together = rising(order)
    if together and answers["pattern"] == "daily":
        return _by_day(together, order, answers), []
    if together:
        feed = _one(together[-1], len(together) - 1, answers) | {"start": f"{_moment(together[0], answers):%H:%M}"}
        steps = [{"from": _moment(step, answers), "rate": _said(step.rate, answers)} for step in together]
        return [feed | _last(order, answers)], steps
    feeds = []
    for n, given in enumerate(order.feeds):
        one = _one(given, n, answers) | (_last(order, answers) if given.continuous else {})
        feeds += [{**one, **({"start": start} if start else {})} for start in _starts(given, n, answers)]
    return feeds, []


def _one(given: Given, n: int, answers: Answers) -> Values:
    """One feed without its start."""
    found: Values = {"method": answers[f"method {n}" if given.rate is None else "method rate"]}
    if given.rate is not None:
        found["rate"] = _said(given.rate, answers)
    if given.volume is not None:
        found["volume"] = _said(given.volume, answers)
    if given.minutes is not None:
        found["over"] = f"{exact(given.minutes)} min"
    if f"over {n}" in answers:
        found["over"] = answers[f"over {n}"]
    return found


def _said(amount: Measured | None, answers: Answers) -> str:
    assert amount is not None
    return amount.plan(chosen(amount, answers))


def _last(order: Order, answers: Answers) -> Values:
    """How a rate without an end stops: at the day's most, where that was the answer."""
    most = daily_ml(order, answers)
    return {"volume": f"{exact(most)} mL"} if most is not None and answers.get("end") == "most" else {}


def _moment(given: Given, answers: Answers) -> datetime:
    """When it begins, in local time as the plan writes it."""
    assert given.start is not None
    zone: ZoneInfo = answers["timezone"]
    start = given.start.astimezone(zone) if answers.get("times") == "instant" else given.start
    return start.replace(tzinfo=None)


def _starts(given: Given, n: int, answers: Answers) -> list[str]:
    """The times of day at which this is given; "" where the order does not say."""
    if given.clocks:
        return [f"{clock:%H:%M}" for clock in given.clocks]
    if given.start is not None:
        first: datetime | None = _moment(given, answers)
    else:
        typed = answers.get(f"start {n}")
        first = datetime(2000, 1, 1, typed.hour, typed.minute) if typed else None      # any day: the clock counts
    if first is None or given.a_day is not None:
        return [""] * given.count
    return [f"{first + timedelta(minutes=(given.every or DAY) * k):%H:%M}" for k in range(given.count)]


def _by_day(feeds: list[Given], order: Order, answers: Answers) -> list[Values]:
    """Rates that follow each other each day: every one runs until the next begins."""
    moments = [_moment(feed, answers) for feed in feeds]
    found, given = [], Decimal(0)
    for n, (feed, moment) in enumerate(zip(feeds, moments, strict=True)):
        one = _one(feed, n, answers) | {"start": f"{moment:%H:%M}"}
        assert feed.rate is not None
        rate = feed.rate.ml(chosen(feed.rate, answers))
        if n + 1 < len(feeds):
            minutes = Decimal(int((moments[n + 1] - moment).total_seconds()) // 60)
            given += rate * minutes / 60
            one["over"] = f"{exact(minutes)} min"
        elif answers.get("end") == "most":
            rest = (daily_ml(order, answers) or Decimal(0)) - given
            gap = Decimal(int((moments[0] + timedelta(days=1) - moment).total_seconds()) // 60)
            if rest <= 0 or rest > rate * gap / 60:
                raise NotAnOrder("most_not_met", given=f"{exact(given)} mL", most=_most(order))
            one["volume"] = f"{exact(rest.quantize(Decimal('0.1'), ROUND_DOWN))} mL"     # never above the day's most
        found.append(one)
    return found


def _most(order: Order) -> str:
    return order.daily.said if order.daily else "-"
