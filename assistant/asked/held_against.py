"""A number told beside a look-up, or beside a mere "yes", is held against the plan: a slip in it is not passed over."""

from __future__ import annotations

from assistant.follow.turns import Question
from assistant.gather._shared import NOT_USUAL
from assistant.message import Heard, Reading
from assistant.night import Night, feed_rate, feed_volume
from assistant.numbers.said import by_words, said
from assistant.numbers.wants import measure
from rules.quantity import Quantity
from rules.slip import slip

PASSES_OVER = ("plan_lookup", "yes", "no", "thanks", "greet", "remark")  # their answers take in no number that was said
PLAINLY = 2.0  # how plainly a number is said to be a rate
DECIMAL_SLIPS = ("tenfold", "tenth", "hundredfold", "hundredth")
WITH_ITS_UNIT = (*DECIMAL_SLIPS, "digit_swap")


def held_against(question: Question, heard: Heard, night: Night) -> Question:
    """The check of the settings where "720 mL an hour, as the plan says" tells a slip of what is ordered, or a rate
    that the plan has nowhere; else the question as it was decided."""
    if question.name not in PASSES_OVER or night.plan is None:
        return question
    words = said(heard)
    if question.name == "plan_lookup" and words.has(*NOT_USUAL) and words.has("how long"):
        return Question("bag_duration")  # "not the usual speed tonight, so how long will it go": not by the plan's
    if question.name == "plan_lookup" and any(s.roles.get("rate", 0.0) >= PLAINLY for s in by_words(heard)):
        return Question("change_rate")  # "is 95 over what it says on her sheet?"
    told = any(_is_off(amount.readings, night) for amount in heard.amounts)
    return Question("check_settings") if told else question


def _is_off(readings: tuple[Reading, ...], night: Night) -> bool:
    first = readings[0]
    if first.kind == "rate":
        rates = rates_of_plan(night)
        value = measure("rate", first, night)
        return value not in rates and (len(rates) == 1 or _slipped(value, rates, WITH_ITS_UNIT))
    if first.kind == "volume":
        return _slipped(measure("volume", first, night), volumes_of_plan(night), WITH_ITS_UNIT)
    if first.kind != "number" or any(r.kind == "clock" for r in readings):
        return False
    as_rate, as_volume = measure("rate", first, night), measure("volume", first, night)
    if as_rate in rates_of_plan(night) or as_volume in volumes_of_plan(night):
        return False
    pairs = ((as_rate, rates_of_plan(night)), (as_volume, volumes_of_plan(night)))
    return any(_slipped(value, ordered, DECIMAL_SLIPS) for value, ordered in pairs)


def _slipped(value: Quantity, ordered: list[Quantity], kinds: tuple[str, ...]) -> bool:
    return value not in ordered and any(slip(value, one) in kinds for one in ordered)


def rates_of_plan(night: Night) -> list[Quantity]:
    """Every rate of the plan: its feeds', its steps', its limits."""
    plan = night.plan
    if plan is None:
        return []
    limits = [plan.limits.lowest_rate, plan.limits.highest_rate]
    found = [*(feed_rate(f) for f in plan.feeds if f.method != "syringe"), *(step.rate for step in plan.steps), *limits]
    return [rate for rate in dict.fromkeys(found) if rate is not None]


def volumes_of_plan(night: Night) -> list[Quantity]:
    """Every amount of the plan: its feeds', its flush, what bag, line and container hold."""
    plan = night.plan
    if plan is None:
        return []
    kit = [plan.flushes.volume, plan.equipment.bag, plan.equipment.priming_volume, plan.formula.container]
    return [volume for volume in (*map(feed_volume, plan.feeds), *kit) if volume is not None]
