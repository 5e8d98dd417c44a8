"""Caution cards: the level a card has for this person, and its text filled in from the plan."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from assistant import word
from assistant.night import JEJUNAL, Night
from knowledge.library import load, table

LEVELS = ("none", "routine", "same_day", "urgent", "emergency")
GRAVE = ("emergency", "urgent")


def card(name: str) -> Mapping[str, Any]:
    return table(f"cautions/{name}")


def names() -> tuple[str, ...]:
    return tuple(load("cautions"))


def level_of(name: str, night: Night) -> str:
    """The card's level for this person: the first `level_when` whose conditions all hold, else the usual one."""
    return str(card_for(name, night)["level"])


def card_for(name: str, night: Night) -> Mapping[str, Any]:
    """The card as it stands for this person: the first `level_when` that holds may bring its own words."""
    found = card(name)
    for case in found.get("level_when", ()):
        if all(holds(condition, night) for condition in case["when"]):
            return {**found, **{k: v for k, v in case.items() if k != "when"}}
    return found


def holds(condition: str, night: Night) -> bool:
    """Is a condition of a card true of this plan today? Without a plan none is."""
    plan = night.plan
    if plan is None:
        return False
    days = (night.today - plan.tube.placed).days if plan.tube.placed else None
    if condition.startswith("placed_within_"):
        _, _, unit, count = condition.split("_")
        span = {"hours": 1 / 24, "days": 1, "weeks": 7}[unit] * int(count)
        return days is not None and 0 <= days <= span
    if condition in ("infant", "child", "adult"):
        return plan.person.age_group_on(night.today) == condition
    if condition == "jejunal":
        return plan.route in JEJUNAL
    if condition == "nasal":
        return plan.route in ("nasogastric", "nasojejunal")
    if condition == "under_three_months":
        return plan.person.born is not None and 0 <= (night.today - plan.person.born).days < 92
    if condition == "new_tube":
        return "new_tube" in plan.person.notes or (days is not None and 0 <= days < 84)
    return condition in plan.person.notes


def fill(lines: Iterable[str], night: Night) -> list[str]:
    facts = word.Facts(night, {})
    return [facts.text(line) for line in lines]


def card_record(name: str, night: Night, *, level: str | None = None, usual: bool = False) -> dict[str, Any]:
    """The record of a card: the act first, then what to do, what not, whom to call, what to tell, where it is from.

    `usual`: as it stands for anybody, where only how a thing is done was asked.
    """
    found, labels = card(name) if usual else card_for(name, night), table("sentences_en")["card"]
    facts = word.Facts(night, {})
    level = level or str(found["level"])
    extra = [
        line for part in found.get("plan_text", ()) if all(holds(c, night) for c in part["when"]) for line in part["do"]
    ]
    do = fill((*found["do"], *extra), night)
    lines = [facts.text(found["says"]), *(f"- {line}" for line in do)]
    if found.get("do_not"):
        lines += [labels["do_not"], *(f"- {line}" for line in fill(found["do_not"], night))]
    if found.get("tell"):
        lines += [facts.text(labels["tell"]), *(f"- {line}" for line in fill(found["tell"], night))]
    if (level in ("urgent", "same_day") and found["call"] == "none") or level == "urgent":
        lines.append(facts.text(labels["call_now"] if level == "urgent" else labels["call_today"]))
    elif level == "emergency":
        lines.append(facts.text(labels["call_emergency"]))
    elif level == "same_day":
        lines.append(facts.text(labels["call_today"]))
    lines.append(labels["source"].format(source=_title(found), place=found["place"]))
    sources = () if found["source"] == "common practice" else (found["source"],)
    made = word.record(
        intent="caution",
        card=name,
        outcome="answered",
        level=level,
        text="\n".join(lines),
        speech=word.limit(facts.speech(found["speech"])),
        sources=sources or ("common-practice",),
        place=found["place"],
        defers=bool(found["defers"]),
    )
    return made


def _title(found: Mapping[str, Any]) -> str:
    from knowledge.library import sources

    if found["source"] == "common practice":
        return str(table("sentences_en")["card"]["common_practice"])
    entry = sources()[found["source"]]
    return f"{entry['title']} ({entry['publisher']}, {entry['year']})"
