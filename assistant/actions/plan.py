"""What the care plan says, and whom to call."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.asides import the_question
from assistant.facts import contacts
from assistant.household.care_plan import CarePlan, Feed
from assistant.night import Night, feed_volume, rate_on, time_on
from assistant.turns import pattern
from assistant.wants import Used
from knowledge.library import table
from rules.clock import later


class PlanLookup(TurnAction):
    """The plan's own words for what was asked; what the plan lacks is said to be missing."""

    intents = ("plan_lookup",)

    def do(self, turn: Turn) -> Result:
        night, lines = turn.night, table("sentences_en")["plan"]
        if night.plan is None:
            return Result(_record(night, lines["no_plan"], {}), turn.talk)
        text = turn.said.heard.text.lower()
        topic = _topic((the_question(text) or text).lower()) or _topic(text)
        if topic is None:
            return Result(plan_summary(night), turn.talk.remember(answer=plan_summary(night)))
        record = _feed_answer(text, topic, night) if topic.get("feed") else _plan_answer(topic, night)
        return Result(record, turn.talk.remember(answer=record))


def _topic(text: str) -> Mapping[str, Any] | None:
    """What of the plan is asked about; None where no words for it stand there."""
    topics = table("plan_words_en").values()
    return next((t for t in topics if any(re.search(rf"(?<!\w)(?:{w})", text) for w in t["words"])), None)


class Contact(TurnAction):
    """Whom to call: the nurse line, the supplier for kit and deliveries, the emergency number."""

    intents = ("contact",)

    def do(self, turn: Turn) -> Result:
        lines, text = table("sentences_en")["plan"], turn.said.heard.text.lower()
        supplies = pattern("supplies").search(text)
        night_line = lines["contact_supplier"] if supplies else lines["contact"]
        return Result(_record(turn.night, night_line, {}, intent="contact"), turn.talk)


def _plan_answer(topic: Mapping[str, Any], night: Night) -> dict[str, Any]:
    facts = plan_facts(night.plan, night)
    keys = [
        need.split(".")[-1]
        if need.split(".")[-1] not in ("volume", "name")
        else {"flushes.volume": "flush_volume", "formula.name": "formula_name"}[need]
        for need in topic["needs"]
    ]
    missing = [k for k in keys if facts.get(k) is None]
    if missing:
        names = table("sentences_en")["plan"]["keys"]
        return _record(
            night,
            table("sentences_en")["plan"]["missing"],
            {"what": ", ".join(names.get(m, m.replace("_", " ")) for m in missing)},
            facts=facts,
            keys=keys,
        )
    return _record(night, topic, facts, facts=facts, keys=keys)


def _feed_answer(text: str, topic: Mapping[str, Any], night: Night) -> dict[str, Any]:
    """One feed's answer: the feed named, the next one for times, else every feed, one a line."""
    named = night.feeds_named(text)
    feeds = named or ((next_feed(night),) if re.search(r"next", text) and next_feed(night) else night.feeds)
    lines, speech, used = [], [], {}
    for feed in feeds:
        assert feed is not None
        facts = {**plan_facts(night.plan, night), **feed_facts(feed, night)}
        if any(facts.get(n) is None for n in topic["needs"]):
            gap = table("sentences_en")["plan"]["feed_missing"]
            lines.append(word.Facts(night, facts).text(gap["text"]))
            continue
        lines.append(word.Facts(night, facts).text(topic["text"]))
        speech.append(word.Facts(night, facts).speech(topic["speech"]))
        used.update({n if len(feeds) == 1 else f"{feed.name}_{n}": Used(facts[n], "care plan") for n in topic["needs"]})
    return _finish(night, "\n".join(lines), word.limit(" ".join(speech) or lines[0]), used)


def plan_summary(night: Night) -> dict[str, Any]:
    """The plan's feeds and flushes in a line each, as an answer."""
    lines, speech = [], []
    sentences = table("sentences_en")["plan"]
    for feed in night.feeds:
        facts = word.Facts(night, feed_facts(feed, night))
        entry = word.pick(sentences["feed"], facts, ())
        assert entry is not None
        lines.append(facts.text(entry["text"]))
        speech.append(facts.speech(entry["speech"]))
    flush = word.Facts(night, plan_facts(night.plan, night))
    if flush.facts.get("flush_volume") is not None:
        lines.append(flush.text(table("plan_words_en")["flush"]["text"]))
    return _finish(night, "\n".join(lines), word.limit(" ".join(speech)), {})


def _record(
    night: Night,
    wording: Mapping[str, Any],
    given: Mapping[str, Any],
    *,
    intent: str = "plan_lookup",
    facts: Mapping[str, Any] | None = None,
    keys: list[str] | None = None,
) -> dict[str, Any]:
    filled = word.Facts(night, given)
    used = {k: Used(facts[k], "care plan") for k in keys or () if facts and facts.get(k) is not None}
    return _finish(night, filled.text(wording["text"]), word.limit(filled.speech(wording["speech"])), used, intent)


def _finish(
    night: Night, text: str, speech: str, used: Mapping[str, Used], intent: str = "plan_lookup"
) -> dict[str, Any]:
    note = word.source_line(("care-plan",))
    return word.record(
        intent=intent,
        outcome="answered",
        text=f"{text}\n{note}",
        speech=speech,
        used=used,
        sources=("care-plan",),
    )


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
        when.append(word.Facts(night, {"every": plan.flushes.every}).text(words["flush_when"]["every"]))
    made["flush_when"] = ", ".join(when) or None
    catch = plan.limits.catch_up
    made["catch_up"] = (
        words["no_catch_up"]
        if catch is None
        else word.Facts(
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


def feed_facts(feed: Feed, night: Night) -> dict[str, Any]:
    words = table("sentences_en")["plan"]
    starts = at_today(feed, night)
    length = time_on(feed, night.plan, starts or night.now)
    ends = later(starts, length) if starts and length is not None else None
    return {
        "feed_name": words["feed_called"].format(name=feed.name),
        "feed_rate": rate_on(feed, night.plan, night.now) if feed.method != "syringe" else None,
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
