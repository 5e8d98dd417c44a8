"""The numbers in a guide's steps: each from its calculator, with the plan's values. What the plan lacks is left out."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any

from assistant.hear import digit_by_digit
from assistant.household.care_plan import CarePlan, Feed
from assistant.night import Night, feed_rate, feed_time, feed_volume
from assistant.slots import Used
from rules import figures as published
from rules.calculators.battery import battery
from rules.calculators.containers import containers
from rules.calculators.discard_at import discard_at
from rules.calculators.drops import drops
from rules.calculators.flush import flush
from rules.calculators.mix import mix
from rules.calculators.pour import pour
from rules.calculators.prime import prime
from rules.calculators.syringe import syringe
from rules.hang_limit import HangLimit, hang_limit
from rules.outcome import CannotAnswer, Figure, Outcome
from rules.quantity import Quantity, number

COUNTABLE = 120  # drops a minute: nobody counts more than two a second


@dataclass
class Amounts:
    """What a step may name: its value, the figure of the record that it is, and what it rests on."""

    facts: dict[str, Any] = field(default_factory=dict)
    figures: dict[str, tuple[str, Figure]] = field(default_factory=dict)
    used: dict[str, dict[str, Used]] = field(default_factory=dict)
    codes: set[str] = field(default_factory=set)

    def plan(self, name: str, value: Any, *, as_used: str | None = None, origin: str = "care plan") -> None:
        """A value as it stands in the plan."""
        if value is not None:
            self.facts[name] = value
            self.used[name] = {as_used or name: Used(value, origin)}

    def take(self, outcome: Outcome, rests_on: Mapping[str, Any], **names: str) -> None:
        """Figures of a calculator: step's name = figure's name."""
        used = {n: v if isinstance(v, Used) else Used(v, "care plan") for n, v in rests_on.items() if v is not None}
        for name, figure in names.items():
            if figure in outcome.figures:
                self.facts[name] = outcome.figures[figure].value
                self.figures[name] = (figure, outcome.figures[figure])
                self.used[name] = used
        self.codes.update(outcome.remarks)

    def spell(self, name: str, value: Decimal) -> None:
        """An amount to be set on a pump: unrounded, and digit by digit."""
        exact = value.quantize(Decimal(1)) if value == value.to_integral_value() else value.normalize()
        self.facts[f"{name}_number"], self.facts[f"{name}_digits"] = exact, digit_by_digit(exact)
        for spelt in (f"{name}_number", f"{name}_digits"):
            self.used[spelt] = self.used[name]
            if name in self.figures:
                self.figures[spelt] = self.figures[name]


def ordered_rate(night: Night, feed: Feed) -> Quantity | None:
    """The rate to set: the ordered step that is on now, else the feed's written one. A rate we would divide is none."""
    begun = sorted((s for s in night.plan.steps if s.start <= night.now), key=lambda s: s.start) if night.plan else []
    return begun[-1].rate if begun else feed.rate


def limit_of(night: Night) -> HangLimit | None:
    plan = night.plan
    if plan is None:
        return None
    with suppress(CannotAnswer):
        return hang_limit(plan.formula.form, night.infant, night.noted("weak_immunity"), plan.limits.hang_time)
    return None


def amounts(night: Night, feed: Feed | None, started: datetime) -> Amounts:
    """Every amount that the plan and this feed give. `started`: the guide's, the earliest that anything was poured."""
    made = Amounts()
    made.plan("set_limit", published.feeding_set().value, origin="standard")
    made.plan("fridge", published.opened_container().value, origin="standard")
    plan, limit = night.plan, limit_of(night)
    if plan is None:
        return made
    made.plan("formula_name", plan.formula.name)
    made.plan("outside_length", plan.tube.outside_length)
    made.plan("every", plan.flushes.every)
    parts: list[Callable[[], None]] = [
        lambda: _kit(made, plan, by_pump=feed is not None and feed.method == "pump"),
        lambda: _recipe(made, plan),
        lambda: _battery(made, plan),
        lambda: _hanging(made, limit, started),
        lambda: _day(made, plan),
    ]
    if feed is not None:
        parts += [lambda: _fed(made, night, plan, feed), lambda: _poured(made, night, plan, feed, limit)]
        parts += [lambda: _by_hand(made, plan, feed)]
    for part in parts:
        with suppress(CannotAnswer):  # no such number: the step has a wording without it
            part()
    return made


def _kit(made: Amounts, plan: CarePlan, *, by_pump: bool) -> None:
    """The flush, and what the pump's set holds: the plan tells nothing of another set's line."""
    if plan.flushes.volume is not None:
        made.take(flush(volume=plan.flushes.volume), {"flush": plan.flushes.volume}, flush="flush")
    if by_pump and plan.equipment.priming_volume is not None:
        line = plan.equipment.priming_volume
        made.take(prime(priming=line), {"priming": line}, priming="priming")


def _day(made: Amounts, plan: CarePlan) -> None:
    """What a whole day takes, where the plan writes every feed's amount."""
    volumes = [v for v in map(feed_volume, plan.feeds) if v is not None]
    if plan.formula.container is None or len(volumes) < len(plan.feeds):
        return
    volume = sum(volumes[1:], volumes[0]).to("mL")
    pumped, line = sum(f.method == "pump" for f in plan.feeds), plan.equipment.priming_volume
    outcome = containers(volume=volume, container=plan.formula.container, pump_feeds=pumped, priming=line)
    on = {"volume": volume, "priming": line if pumped else None, "container": plan.formula.container}
    made.take(outcome, on, day_containers="containers")


def _recipe(made: Amounts, plan: CarePlan) -> None:
    """The recipe as the plan writes it: never scaled, so that no scoop is parted."""
    recipe = plan.formula.recipe
    if recipe is None:
        return
    parts = {n: getattr(recipe, n) for n in ("powder", "water", "makes", "scoop")}
    outcome = mix(**{f"recipe_{n}": v for n, v in parts.items()})
    on = {f"recipe_{n}": v for n, v in parts.items()}
    made.take(outcome, on, powder="powder", water="water", makes="makes", scoops="scoops")
    made.facts["powder_grams"] = number(outcome.figures["powder"].value, "g")  # type: ignore[arg-type]
    made.figures["powder_grams"], made.used["powder_grams"] = made.figures["powder"], made.used["powder"]


def _battery(made: Amounts, plan: CarePlan) -> None:
    kit = plan.equipment
    made.take(battery(lasts=kit.battery_lasts, at=kit.battery_at), {"battery": kit.battery_lasts}, battery="duration")
    made.plan("battery_at", kit.battery_at)


def _hanging(made: Amounts, limit: HangLimit | None, started: datetime) -> None:
    if limit is None:
        return
    origin = "care plan" if "plan_limit_used" in limit.remarks else "standard"
    made.plan("hang_limit", limit.limit, as_used="limit", origin=origin)
    outcome = discard_at(clock_started=started, limit=limit.limit, started_from="poured")
    on = {"limit": Used(limit.limit, origin), "opened": Used(started, "clock")}
    made.take(outcome, on, discard_by="discard_at")


def _fed(made: Amounts, night: Night, plan: CarePlan, feed: Feed) -> None:
    made.plan("volume", feed_volume(feed))
    if feed.volume is not None:
        made.spell("volume", number(feed.volume, "mL"))
    if feed.method != "pump":
        return
    rate = ordered_rate(night, feed)
    if rate is not None:
        per_hour = number(rate, "mL/h")
        made.plan("rate", rate)
        made.figures["rate"] = ("rate", Figure(rate))
        made.spell("rate", per_hour)
        made.codes.add("rate_whole" if per_hour == per_hour.to_integral_value() else "rate_with_point")
    volume = feed_volume(feed)
    if plan.formula.form == "closed_bag" and volume is not None and plan.formula.container is not None:
        line = plan.equipment.priming_volume
        outcome = containers(volume=volume, container=plan.formula.container, pump_feeds=1, priming=line)
        on = {"volume": volume, "priming": line, "container": plan.formula.container}
        made.take(outcome, on, bags="containers")
        made.codes.update({"more_bags"} if number(outcome.figures["containers"].value, "1") > 1 else ())  # type: ignore[arg-type]


def _poured(made: Amounts, night: Night, plan: CarePlan, feed: Feed, limit: HangLimit | None) -> None:
    if limit is None or plan.formula.form == "closed_bag" or feed.method == "syringe":
        return
    rate = ordered_rate(night, feed) if feed.method == "pump" else None
    rate = rate if rate is not None else feed_rate(feed)
    values: dict[str, Any] = {
        "rate": rate,
        "feed_left": feed_volume(feed),
        "priming": plan.equipment.priming_volume if feed.method == "pump" else None,
        "bag": plan.equipment.bag,
    }
    outcome = pour(hang_limit=limit.limit, sources=limit.sources, **values)
    origin = "care plan" if "plan_limit_used" in limit.remarks else "standard"
    made.take(outcome, {**values, "limit": Used(limit.limit, origin)}, pour="pour", fills="fills")


def _by_hand(made: Amounts, plan: CarePlan, feed: Feed) -> None:
    volume, over = feed_volume(feed), feed_time(feed)
    if feed.method == "gravity" and over is not None:
        made.plan("over", over)
        made.used["over"] = {"over": Used(over, "care plan")}
        outcome = drops(drop_factor=plan.equipment.drop_factor, volume=volume, over=over)
        on = {"drop_factor": plan.equipment.drop_factor, "volume": volume, "over": over}
        made.take(outcome, on, drops="drops")
        made.codes.update({"fast_drip"} if number(outcome.figures["drops"].value, "drop/min") > COUNTABLE else ())  # type: ignore[arg-type]
    if feed.method == "syringe" and volume is not None:
        outcome = syringe(volume=volume, syringe=plan.equipment.syringe, over=over)
        on = {"volume": volume, "syringe": plan.equipment.syringe, "over": over}
        made.take(outcome, on, fills="fills", each="each", minutes="minutes")
        for name in ("last", "each_minutes"):
            made.facts[name], made.used[name] = outcome.facts[name], made.used["fills"]
        made.codes.update({"many_syringes"} if number(outcome.figures["fills"].value, "1") > 1 else ())  # type: ignore[arg-type]
