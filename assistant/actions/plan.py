"""What the care plan says, and whom to call."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.asked.plan_asked import LOOKED_UP, firmly_named
from assistant.asked.plan_facts import feed_facts, next_feed, plan_facts, starting_about
from assistant.clauses.asides import the_question
from assistant.follow.turns import pattern
from assistant.household.care_plan import Feed
from assistant.night import Night, feed_volume
from assistant.numbers.wants import Used
from knowledge.library import table
from rules.quantity import Quantity, qty

WHOLE = "whole"  # the plan's feeds and flushes, a line each


class PlanLookup(TurnAction):
    """The plan's own words for what was asked, each value in turn; what the plan lacks is said to be missing."""

    intents = ("plan_lookup",)

    def do(self, turn: Turn) -> Result:
        night, lines = turn.night, table("sentences_en")["plan"]
        if night.plan is None:
            return Result(_record(night, lines["no_plan"], {}), turn.talk)
        asked = _topics(turn)
        if not asked:
            summary = plan_summary(night, night.feeds_named(turn.said.heard.text))
            return Result(summary, turn.talk.remember(answer=summary))
        record = _together([_answer(turn, name) for name in asked])
        if "may_change" in asked and not night.plan.limits.family_may_change_rate:
            record["defers"] = True
        talk = replace(turn.talk.remember(answer=record), looked_up=asked)
        feeds = _feeds_meant(turn) if any(table("plan_words_en")[name].get("feed") for name in asked) else ()
        return Result(record, replace(talk, looked_up_of=feeds[0].name) if len(feeds) == 1 else talk)


def _topics(turn: Turn) -> tuple[str, ...]:
    """What of the plan is asked about; none where no words for it stand there."""
    if (turn.question.favours or "").startswith(LOOKED_UP):
        return tuple(str(turn.question.favours).removeprefix(LOOKED_UP).split())
    text = turn.said.heard.text.lower()
    asking = (the_question(text) or text).lower()
    if named := firmly_named(asking):
        return named
    return _by_its_words(asking) or _by_its_words(text)


def _by_its_words(text: str) -> tuple[str, ...]:
    topics = table("plan_words_en").items()
    found = (n for n, t in topics if any(re.search(rf"(?<!\w)(?:{w})", text) for w in t.get("words", ())))
    return tuple(found)[:1]


def _answer(turn: Turn, name: str) -> dict[str, Any]:
    topic = table("plan_words_en")[name]
    if name == WHOLE:
        return plan_summary(turn.night, turn.night.feeds_named(turn.said.heard.text))
    return _feed_answer(turn, topic) if topic.get("feed") else _plan_answer(topic, turn.night)


def _together(records: list[dict[str, Any]]) -> dict[str, Any]:
    """One answer of several values, each in a line of its own."""
    note = word.source_line(("care-plan",))
    lines = dict.fromkeys(line for r in records for line in r["text"].removesuffix(note).strip().split("\n"))
    return {
        **records[0],
        "text": "\n".join([*lines, note]),
        "speech": word.limit(" ".join(dict.fromkeys(r["speech"] for r in records))),
        "used": {name: used for r in records for name, used in r["used"].items()},
    }


class Contact(TurnAction):
    """Whom to call: the nurse line, the supplier for kit and deliveries, the emergency number."""

    intents = ("contact",)

    def do(self, turn: Turn) -> Result:
        lines, text = table("sentences_en")["plan"], turn.said.heard.text.lower()
        supplies = pattern("supplies").search(text)
        night_line = lines["contact_supplier"] if supplies else lines["contact"]
        return Result(_record(turn.night, night_line, {}, intent="contact"), turn.talk)


def _plan_answer(topic: Mapping[str, Any], night: Night) -> dict[str, Any]:
    facts, words = plan_facts(night.plan, night), table("sentences_en")["plan"]
    keys = [_key(need) for need in topic["needs"]]
    missing = [k for k in keys if facts.get(k) is None]
    if not missing:
        return _record(night, topic, facts, facts=facts, keys=keys)
    what = ", ".join(words["keys"].get(m, m.replace("_", " ")) for m in missing)
    record = _record(night, words["missing"], {"what": what}, facts=facts, keys=keys)
    partly = [o for o in topic.get("partly", ()) if facts.get(_key(o["needs"][0])) is not None]
    return _together([record, *(_record(night, o, facts, facts=facts) for o in partly)])


def _key(need: str) -> str:
    """The name by which the sentences call a key of the plan."""
    return {"flushes.volume": "flush_volume", "formula.name": "formula_name"}.get(need, need.split(".")[-1])


def _feeds_meant(turn: Turn) -> tuple[Feed, ...]:
    """The feed named, the next one where it is asked for so, tonight's, the one just looked up; else every feed."""
    night, text = turn.night, turn.said.heard.text.lower()
    if named := night.feeds_named(text):
        return named
    if pattern("next_feed").search(text) and (coming := next_feed(night)) is not None:
        return (coming,)
    if (unknown := night.unknown_feed(text)) is not None:
        return starting_about(unknown, night)
    if pattern("every_feed").search(text):
        return night.feeds
    just = turn.talk.looked_up_of if turn.talk.just_looked_up() else None
    return night.tonight(text) or tuple(f for f in night.feeds if f.name == just) or night.feeds


def _feed_answer(turn: Turn, topic: Mapping[str, Any]) -> dict[str, Any]:
    """One feed's answer, or each feed's, one a line."""
    night, feeds, sentences = turn.night, _feeds_meant(turn), table("sentences_en")["plan"]
    lines, speech, used = [], [], {}
    if not feeds:
        unknown = night.unknown_feed(turn.said.heard.text)
        none = word.Facts(night, {"name": unknown, "feeds": ", ".join(f.name for f in night.feeds)})
        return _finish(night, none.text(sentences["no_such_feed"]["text"]), sentences["no_such_feed"]["speech"], {})
    for feed in feeds:
        facts = word.Facts(night, {**plan_facts(night.plan, night), **feed_facts(feed, night)})
        wording = next((one for one in (topic, *topic.get("partly", ())) if facts.has(one["needs"])), None)
        if wording is None:
            lines.append(facts.text(sentences["feed_missing"]["text"]))
            continue
        lines.append(facts.text(wording["text"]))
        speech.append(facts.speech(wording["speech"]))
        for need in wording["needs"]:
            used[need if len(feeds) == 1 else f"{feed.name}_{need}"] = Used(facts.facts[need], "care plan")
    if (total := _in_a_day(turn, topic, feeds)) is not None:
        facts = word.Facts(night, {"total": total, "feeds": qty(len(feeds), "1")})
        lines.insert(0, facts.text(sentences["day_total"]["text"]))
        speech.insert(0, facts.speech(sentences["day_total"]["speech"]))
        used["day_total"] = Used(total, "care plan")
    return _finish(night, "\n".join(lines), word.limit(" ".join(speech) or lines[0]), used)


def _in_a_day(turn: Turn, topic: Mapping[str, Any], feeds: tuple[Feed, ...]) -> Quantity | None:
    """ "How much milk does he get a day?": all feeds of the plan together; None where one is asked of, or not known."""
    volumes = [feed_volume(feed) for feed in feeds]
    of_all = len(feeds) > 1 and feeds == turn.night.feeds and "feed_volume" in topic.get("needs", ())
    if not of_all or not pattern("in_a_day").search(turn.said.heard.text) or any(v is None for v in volumes):
        return None
    return sum((v for v in volumes if v is not None), qty(0, "mL")).to("mL")


def plan_summary(night: Night, only: tuple[Feed, ...] = ()) -> dict[str, Any]:
    """The plan's feeds and flushes in a line each, as an answer; `only`: of these feeds."""
    lines, speech = [], []
    sentences = table("sentences_en")["plan"]
    for feed in only or night.feeds:
        facts = word.Facts(night, feed_facts(feed, night))
        entry = word.pick(sentences["feed"], facts, ())
        assert entry is not None
        lines.append(facts.text(entry["text"]))
        speech.append(facts.speech(entry["speech"]))
    flush = word.Facts(night, plan_facts(night.plan, night))
    if not only and flush.facts.get("flush_volume") is not None:
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
