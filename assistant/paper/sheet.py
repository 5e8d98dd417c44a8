"""The household's one-page sheet: plan, today's timetable, when to call, numbers. Facts into boxes; words are data.

Every amount comes from the plan or from the calculator that the assistant answers with (guide_amounts, timetable).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any

from assistant import cards, gather, word
from assistant.household.care_plan import warnings
from assistant.night import Night, feed_rate, feed_volume
from assistant.paper.print_page import Box, code_of, page
from assistant.slots import Ask, Slots
from assistant.walk import guides
from assistant.walk.guide_amounts import amounts, ordered_rate
from knowledge.library import table

ADDRESS = re.compile(r"https?://[^\s<>\"]{1,200}")
WORDS = "sheet_en"
SIZES = (("large", 30), ("tight", 37), ("dense", 999))  # lines below each other that a page holds in each type
AT_START = ("flush_before", "feed_start")


class BadAddress(ValueError):
    """An address that no QR code should hold."""


def words() -> Mapping[str, Any]:
    return table(WORDS)


def household_sheet(night: Night, address: str | None = None) -> str:
    """The sheet as one HTML page. `address` of the household's own page becomes its QR code. Raises BadAddress."""
    lines, facts = words()["page"], heading_facts(night)
    if address is not None and not ADDRESS.fullmatch(address):
        raise BadAddress(words()["command"]["bad_page"].format(found=address[:80]))
    boxes = [
        Box(lines["feeds"], tuple(feed_lines(night)), "loud", "top"),
        *call_boxes(night),
        Box(facts.text(lines["today"]), tuple(today_lines(night)), "plain", "right"),
        Box(lines["numbers"], tuple(number_lines(night)), "numbers", "right"),
        Box(lines["tube"], tuple(kit_lines(night)), "pairs", "bottom"),
    ]
    foot = [lines["foot"], *plan_warnings(night), *([lines["scan"]] if address else [])]
    picture = code_of(address) if address else ""
    return page(
        title_of(night),
        made_line(night),
        boxes,
        foot,
        picture,
        size=next(size for size, most in SIZES if _full(boxes) <= most),
    )


def _full(boxes: list[Box]) -> int:
    """About how many lines stand below each other: the longer column, and half of what stands in pairs."""
    deep = {side: sum(len(b.lines) + 2 for b in boxes if b.side == side) for side in ("top", "left", "right", "bottom")}
    return deep["top"] + max(deep["left"], deep["right"]) + deep["bottom"] // 2


def heading_facts(night: Night) -> word.Facts:
    plan = night.plan
    dates = {"issued": plan.issued, "review_by": plan.review_by} if plan else {}
    return word.Facts(night, {"today": night.today, "nickname": plan.person.nickname if plan else None, **dates})


def title_of(night: Night) -> str:
    facts, lines = heading_facts(night), words()["page"]
    return facts.text(lines["title" if facts.has(["nickname"]) else "title_unnamed"])


def made_line(night: Night) -> str:
    facts, lines = heading_facts(night), words()["page"]
    return facts.text(lines["made" if facts.has(["issued", "review_by"]) else "made_undated"])


def plan_warnings(night: Night) -> list[str]:
    found = warnings(night.plan, night.today) if night.plan else ()
    return [words()["page"][{"past_review": "stale", "not_yet_issued": "early"}[code]] for code in found]


def feed_lines(night: Night) -> list[str]:
    """One line a feed: when, how, how much, how fast."""
    found = []
    for feed in night.feeds:
        made = amounts(night, feed, night.now)
        known = {**made.facts, "name": feed.name, "start": feed.start, "volume": feed_volume(feed), "over": feed.over}
        facts = word.Facts(night, known)
        entry = word.pick(words()["feeds"][feed.method], facts, made.codes)
        assert entry is not None, feed.method
        found.append(_plainly(facts.text(entry["text"])))
    return found


def kit_lines(night: Night) -> list[str]:
    """What the plan says of feed, flush, set and tube, and the rate steps still to come."""
    plan = night.plan
    if plan is None:
        return []
    pumped = next((f for f in plan.feeds if f.method == "pump"), None)
    made = amounts(night, pumped, night.now)
    known = {
        **made.facts,
        "flush_when": _flush_when(night) or None,
        "tube_kind": plan.tube.kind,
        "tube_size": plan.tube.size if plan.tube.kind else None,
        "balloon_water": plan.tube.balloon_water,
        "lowest_rate": plan.limits.lowest_rate,
        "highest_rate": plan.limits.highest_rate,
    }
    facts, lines = word.Facts(night, known), words()["kit"]
    found = [_plainly(facts.text(entry["text"])) for entry in lines["lines"] if facts.has(entry["has"])]
    coming = [s for s in plan.steps if s.start > night.now]
    return found + [word.Facts(night, {"at": s.start, "rate": s.rate}).text(lines["step"]) for s in coming]


def _flush_when(night: Night) -> str:
    assert night.plan is not None
    lines, flushes = words()["kit"], night.plan.flushes
    found = [lines[when] for when in ("before_feed", "after_feed", "after_medicine") if when in flushes.when]
    if flushes.every is not None:
        found.append(lines["every"].format(every=word.Facts(night, {"every": flushes.every}).text("{every}")))
    return ", ".join(found)


def today_lines(night: Night) -> list[str]:
    """Today's timetable by its calculator; where an ordered step changed the rate, only what happens at the start."""
    from assistant.hear import hear
    from assistant.numbers.said import said

    try:
        arguments = gather.gather_for("timetable")(Slots(said(hear("")), night))
    except Ask:
        return [words()["page"]["no_times"]]
    stepped = {f.name for f in night.feeds if f.method == "pump" and ordered_rate(night, f) != feed_rate(f)}
    told: dict[Any, list[str]] = {}
    for row in gather.calculator_for("timetable")(**arguments).facts["rows"]:
        if row.facts.get("feed") in stepped and row.what not in AT_START:
            continue
        facts = word.Facts(night, {n: v for n, v in row.facts.items() if v is not None})
        entry = word.pick(words()["rows"][row.what], facts, ())
        assert entry is not None, row.what
        due = facts.text(entry["text"])
        told.setdefault(row.at, []).append(due[:1].lower() + due[1:])
    at = {instant: word.Facts(night, {"at": instant}).text("{at}") for instant in told}
    return [_plainly(f"{at[instant]} {', '.join(told[instant])}") for instant in told] or [words()["page"]["no_times"]]


def call_boxes(night: Night) -> list[Box]:
    """When to call: cards in the box of the level that they have for this person."""
    lines, facts = words()["page"], word.Facts(night, {})
    shown = [name for name in words()["cards"]["show"] if fits(name, night)]
    boxes = []
    for level, kind in (("emergency", "loud"), ("urgent", "plain"), ("same_day", "plain")):
        names = [cards.card(name)["name_for_people"] for name in shown if cards.level_of(name, night) == level]
        if names:
            boxes.append(Box(facts.text(lines[f"call_{level}"]), tuple(dict.fromkeys(names)), kind, "left"))
    return boxes


def fits(name: str, night: Night) -> bool:
    """A card for one kind of plan stands only on such a plan's sheet."""
    wanted: Iterable[str] | None = words()["cards"]["only"].get(name)
    codes = guides.codes_of(night)
    if "gastric_hole" in codes and "jejunal" not in codes:
        codes.add("new_stomach_hole" if cards.holds("new_tube", night) else "old_stomach_hole")
    return wanted is None or bool(codes.intersection(wanted))


def number_lines(night: Night) -> list[str]:
    """Telephone numbers, largest on the page; an empty place to write one where the plan has none."""
    lines, contacts = words()["page"], night.plan.contacts if night.plan else None
    found = []
    for name in ("emergency", "nurse_line", "supplier"):
        number = getattr(contacts, name, None)
        found.append(lines[name].format(number=number) if number else lines[f"no_{name}"])
    return found


def _plainly(text: str) -> str:
    """Thousands without a comma, which could be read as a decimal's."""
    return guides.THOUSANDS.sub("", text)
