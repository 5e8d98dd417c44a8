"""The plan's values, and one feed's, by the names that the sentences of a look-up use."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from assistant.household.care_plan import CarePlan, Feed
from assistant.night import Night, feed_volume, rate_on, time_on
from assistant.wording.facts import Facts, contacts
from knowledge.library import table
from rules.clock import later

HOURS = 24


def plan_facts(plan: CarePlan | None, night: Night) -> dict[str, Any]:
    """The plan's values by the names that the sentences use."""
    if plan is None:
        return {}
    made: dict[str, Any] = {}
    for part in (plan.tube, plan.limits, plan.equipment, plan.supplies, plan.person):
        made.update({k: v for k, v in vars(part).items() if not isinstance(v, frozenset)})
    words = table("sentences_en")["plan"]
    made.update(
        energy=plan.formula.energy,
        container=plan.formula.container,
        form=words["forms"].get(plan.formula.form or ""),
        age_group=plan.person.age_group,
        formula_name=plan.formula.name,
        route=words["routes"][plan.route],
        water_goal=plan.water_goal,
        issued=plan.issued,
        review_by=plan.review_by,
        flush_volume=plan.flushes.volume,
        medicines_a_day=plan.flushes.medicines_a_day,
        notes=", ".join(sorted(n.replace("_", " ") for n in plan.person.notes)) or words["no_notes"],
        **{k: v for k, v in vars(plan.contacts).items() if v},
    )
    made.update(contacts(night))
    when = [words["flush_when"][w] for w in ("before_feed", "after_feed", "after_medicine") if w in plan.flushes.when]
    if plan.flushes.every is not None:
        every = Facts(night, {"every": plan.flushes.every}).text(words["flush_when"]["every"])
        when.append(every[:1].lower() + every[1:])
    made["flush_when"] = ", ".join(when) or None
    made["may_change"] = Facts(night, made).text(words[_may_change(plan)])
    catch = plan.limits.catch_up
    made["catch_up"] = (
        words["no_catch_up"]
        if catch is None
        else Facts(
            night, {"until": f"{catch.until:%H:%M}" if catch.until else None, "highest": catch.highest_rate}
        ).text(
            words[
                "catch_up_both"
                if catch.until and catch.highest_rate is not None
                else "catch_up_until"
                if catch.until
                else "catch_up_rate"
            ]
        )
    )
    return made


def _may_change(plan: CarePlan) -> str:
    """What the plan says of the family's changing the rate."""
    limits = plan.limits
    if limits.family_may_change_rate is None:
        return "may_change_unsaid"
    bounded = limits.lowest_rate is not None and limits.highest_rate is not None
    return "may_change_no" if not limits.family_may_change_rate else "may_change_yes" if bounded else "may_change_free"


def feed_facts(feed: Feed, night: Night) -> dict[str, Any]:
    words = table("sentences_en")["plan"]
    starts = at_today(feed, night)
    length = time_on(feed, night.plan, starts or night.now)
    ends = later(starts, length) if starts and length is not None else None
    return {
        "feed_name": words["feed_called" if "feed" not in feed.name.split() else "feed_named"].format(name=feed.name),
        "feed_rate": rate_on(feed, night.plan, night.now) if feed.method == "pump" or feed.rate is not None else None,
        "feed_volume": feed_volume(feed),
        "feed_time": length,
        "feed_method": words["methods"][feed.method],
        "feed_start": starts.time() if starts else None,
        "feed_end": ends.astimezone(night.now.tzinfo).time() if ends else None,
    }


def at_today(feed: Feed, night: Night) -> datetime | None:
    if feed.start is None:
        return None
    return datetime.combine(night.today, feed.start, tzinfo=night.now.tzinfo)


def next_feed(night: Night) -> Feed | None:
    """The feed whose planned start comes next."""
    timed = [f for f in night.feeds if f.start is not None]
    if not timed:
        return None
    now = night.now.time()
    return min(timed, key=lambda f: (f.start is not None and f.start <= now, f.start))


def starting_about(called: str, night: Night) -> tuple[Feed, ...]:
    """The feeds that start at the time of day of that name, where the plan has none so called."""
    hours = table("plan_asked_en")["hours"]
    first, last = next((h for name, h in hours.items() if called.startswith(name)), (0, 0))
    timed = ((f, f.start.hour) for f in night.feeds if f.start is not None)
    return tuple(f for f, hour in timed if first <= hour < last or first <= hour + HOURS < last)
