"""Values of one care plan that cannot all be true. Each check is one small function over what was read.

Checks only what is there: a value that is missing or was unreadable contradicts nothing. Amounts of one measure
share one unit (see plan_amounts.py), so their numbers compare directly.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from itertools import pairwise
from types import MappingProxyType
from typing import Any, NamedTuple

from assistant.household.plan_faults import Fault, as_written
from assistant.household.plan_values import minutes
from assistant.household.plan_words import example, sentence

Values = dict[str, Any]
#: rate x time and the volume may differ by a rounded pump rate, and no more
ALLOWED_MISMATCH = Decimal("0.01")


class Clash(NamedTuple):
    path: str
    code: str
    facts: Mapping[str, object] = MappingProxyType({})


def contradictions(values: Values, raw: Values, file: str) -> list[Fault]:
    """Every contradiction in `values`; `raw` is the file as TOML gave it, to show what stands there."""
    faults = []
    for check in CHECKS:
        for path, code, facts in check(values):
            found = _as_it_stands(raw, path)
            allowed = sentence("faults", code, **{"example": example(path), "key": path, **facts})
            faults.append(Fault(file, path, "" if found is None else as_written(found), allowed, None, code))
    return faults


def date_warnings(issued: date | None, review_by: date | None, today: date) -> tuple[str, ...]:
    """What to say beside every answer: past_review, not_yet_issued. `today` is the day in the plan's zone."""
    past = review_by is not None and today > review_by
    early = issued is not None and today < issued
    return ("past_review",) * past + ("not_yet_issued",) * early


def _as_it_stands(raw: Any, path: str) -> Any:
    for part in path.split("."):
        raw = raw[int(part) - 1] if part.isdigit() else raw.get(part)
        if raw is None:
            return None
    return raw


def _dates(values: Values) -> Iterator[Clash]:
    born = values.get("person", {}).get("born")
    placed = values.get("tube", {}).get("placed")
    issued, review = values.get("issued"), values.get("review_by")
    if issued and review and issued > review:
        yield Clash("review_by", "review_before_issue", {"issued": issued})
    if born and issued and born > issued:
        yield Clash("person.born", "born_after_issue", {"issued": issued})
    if born and placed and placed < born:
        yield Clash("tube.placed", "placed_before_born", {"born": born})


def _feed_names(values: Values) -> Iterator[Clash]:
    seen: dict[str, int] = {}
    for n, feed in enumerate(values.get("feeds", []), 1):
        name = str(feed.get("name", "")).casefold()
        if name and name in seen:
            yield Clash(f"feeds.{n}.name", "same_name", {"other": seen[name]})
        seen.setdefault(name, n)


def _feed_is_whole(values: Values) -> Iterator[Clash]:
    """A pump feed has a rate, or the volume and time that give one; any other feed has a volume."""
    for n, feed in enumerate(values.get("feeds", []), 1):
        method = feed.get("method")
        if method == "pump" and "rate" not in feed and not {"volume", "over"} <= feed.keys():
            yield Clash(f"feeds.{n}", "pump_feed_without_rate")
        if method in {"syringe", "gravity"} and "volume" not in feed:
            yield Clash(f"feeds.{n}", "feed_without_volume", {"method": method})


def _feed_adds_up(values: Values) -> Iterator[Clash]:
    for n, feed in enumerate(values.get("feeds", []), 1):
        if {"rate", "volume", "over"} <= feed.keys():
            runs = feed["rate"].number * minutes(feed["over"]) / 60
            if abs(runs - feed["volume"].number) > ALLOWED_MISMATCH * feed["volume"].number:
                yield Clash(f"feeds.{n}.volume", "does_not_add_up", {
                    "rate": feed["rate"].text(), "over": feed["over"].text(), "gives": f"{runs.normalize():f} mL"})


def _pump_rates(values: Values) -> Iterator[tuple[str, Decimal, bool]]:
    """Every rate that the plan orders for the pump: where it stands, mL/h, whether it is a step of an increase."""
    for n, feed in enumerate(values.get("feeds", []), 1):
        if feed.get("method") != "pump":
            continue
        if "rate" in feed:
            yield f"feeds.{n}.rate", feed["rate"].number, False
        elif {"volume", "over"} <= feed.keys():
            yield f"feeds.{n}.volume", feed["volume"].number * 60 / minutes(feed["over"]), False
    for n, step in enumerate(values.get("steps", []), 1):
        if "rate" in step:
            yield f"steps.{n}.rate", step["rate"].number, True


def _rates_within_limits(values: Values) -> Iterator[Clash]:
    limits = values.get("limits", {})
    lowest, highest = limits.get("lowest_rate"), limits.get("highest_rate")
    kit = values.get("equipment", {}).get("pump_highest_rate")
    if lowest and highest and lowest.number > highest.number:
        yield Clash("limits.lowest_rate", "lowest_above_highest", {"highest": highest.text()})
        return
    for path, rate, is_step in _pump_rates(values):
        if highest and rate > highest.number:
            yield Clash(path, "above_highest", {"highest": highest.text()})
        if kit and rate > kit.number:
            yield Clash(path, "above_kit", {"highest": kit.text()})
        if lowest and rate < lowest.number and not is_step:     # an increase may well begin lower
            yield Clash(path, "below_lowest", {"lowest": lowest.text()})
    catch_up = limits.get("catch_up", {}).get("highest_rate")
    if catch_up and highest and catch_up.number > highest.number:
        yield Clash("limits.catch_up.highest_rate", "above_highest", {"highest": highest.text()})
    if catch_up and kit and catch_up.number > kit.number:
        yield Clash("limits.catch_up.highest_rate", "above_kit", {"highest": kit.text()})


def _steps_in_order(values: Values) -> Iterator[Clash]:
    steps = [(n, step["from"]) for n, step in enumerate(values.get("steps", []), 1) if "from" in step]
    if any((moment.tzinfo is None) for _, moment in steps):     # no zone could be read
        return
    for (_, earlier), (n, later) in pairwise(steps):
        if later.timestamp() <= earlier.timestamp():
            yield Clash(f"steps.{n}.from", "steps_out_of_order", {"earlier": earlier.isoformat()})


def _recipe(values: Values) -> Iterator[Clash]:
    formula = values.get("formula", {})
    recipe = formula.get("recipe")
    if recipe is None:
        return
    if formula.get("form", "powder") != "powder":
        yield Clash("formula.recipe", "recipe_without_powder", {"form": formula["form"]})
    if {"water", "makes"} <= recipe.keys() and recipe["makes"].number < recipe["water"].number:
        yield Clash("formula.recipe.makes", "makes_less_than_water", {"water": recipe["water"].text()})
    if {"powder", "scoop"} <= recipe.keys() and recipe["scoop"].number > recipe["powder"].number:
        yield Clash("formula.recipe.scoop", "scoop_above_powder", {"powder": recipe["powder"].text()})


def _kit(values: Values) -> Iterator[Clash]:
    kit = values.get("equipment", {})
    if {"bag", "priming_volume"} <= kit.keys() and kit["priming_volume"].number >= kit["bag"].number:
        yield Clash("equipment.priming_volume", "priming_above_bag", {"bag": kit["bag"].text()})
    accuracy = kit.get("pump_accuracy")
    if accuracy and accuracy.number == 100:
        yield Clash("equipment.pump_accuracy", "accuracy_of_all")


CHECKS = (_dates, _feed_names, _feed_is_whole, _feed_adds_up, _rates_within_limits, _steps_in_order, _recipe, _kit)
