"""`bagside cards [SEARCH]`, `bagside card NAME`, `bagside knowledge check`."""

from __future__ import annotations

import sys
from datetime import UTC, datetime
from difflib import get_close_matches
from pathlib import Path

from assistant import cards
from assistant.household.care_plan import read_plan
from assistant.household.plan_faults import PlanFaults
from assistant.night import Night
from knowledge.library import check as faults
from knowledge.library import sources, table


def search(words: str) -> int:
    """Cards that hold the words, best first (SQLite full-text search); all cards, by level, without any."""
    names = (
        _search(words)
        if words.strip()
        else sorted(cards.names(), key=lambda n: (-cards.LEVELS.index(cards.card(n)["level"]), n))
    )
    lines = table("sentences_en")["card_commands"]
    for name in names:
        print(f"{name:22} {lines['levels'][cards.card(name)['level']]:10} {cards.card(name)['name_for_people']}")
    if not names:
        print(lines["none_found"].format(words=words))
    return 0


def _search(words: str) -> list[str]:
    import sqlite_utils

    db = sqlite_utils.Database(memory=True)
    shelf = db.table("cards")
    shelf.insert_all(
        {
            "name": n,
            "title": cards.card(n)["name_for_people"],
            "text": "\n".join(_texts(n)),
            "signs": n.replace("_", " "),
        }
        for n in cards.names()
    )
    shelf.enable_fts(["title", "text", "signs"], tokenize="porter")
    return [
        row["name"]
        for row in shelf.search(shelf.quote_fts(words) if hasattr(shelf, "quote_fts") else db.quote_fts(words))
    ]


def _texts(name: str) -> list[str]:
    found = cards.card(name)
    return [
        found["says"],
        *found["do"],
        *found.get("do_not", ()),
        *found.get("tell", ()),
        *(q["ask"] for q in found.get("ask_next", ())),
    ]


def show(name: str, plan: str | None) -> int:
    """One card whole, as the nurse line reads it, with its source and review status."""
    lines = table("sentences_en")["card_commands"]
    if name not in cards.names():
        near = get_close_matches(name, cards.names(), n=1)
        print(lines["unknown"].format(name=name, near=near[0] if near else "bagside cards"), file=sys.stderr)
        return 2
    try:
        care_plan = read_plan(Path(plan)) if plan else None
    except PlanFaults as found:
        print("\n".join(found.lines()), file=sys.stderr)
        return 2
    night = Night(care_plan, datetime.now(care_plan.timezone if care_plan else UTC))
    print("\n".join(whole(name, night)))
    return 0


def whole(name: str, night: Night) -> list[str]:
    """Every part of a card as lines."""
    found, lines = cards.card_for(name, night), table("sentences_en")["card_commands"]
    record = cards.card_record(name, night)
    made = [
        f"{found['name_for_people']} ({name})",
        lines["level"].format(level=lines["levels"][found["level"]]),
        record["text"],
        lines["spoken"].format(speech=record["speech"]),
    ]
    for case in cards.card(name).get("level_when", ()):
        made.append(
            lines["level_when"].format(
                level=lines["levels"][case["level"]], when=", ".join(case["when"]).replace("_", " ")
            )
        )
    for question in found.get("ask_next", ()):
        made.append(lines["ask_next"].format(**question))
    entry = sources().get(found["source"], {})
    made.append(
        lines["source"].format(
            title=entry.get("title", found["source"]),
            publisher=entry.get("publisher", "-"),
            year=entry.get("year", "-"),
            place=found["place"],
            confirmed=found["confirmed"],
            facts=", ".join(found.get("facts", ())),
            applies_to=found["applies_to"],
            checked=found["checked"],
        )
    )
    made.append(lines["review"].format(review=found["clinician_review"]))
    return made


def check() -> int:
    """Every fault of every file at once; 2 where there is any."""
    found = faults()
    for fault in found:
        print(fault, file=sys.stderr)
    if not found:
        print(table("sentences_en")["card_commands"]["all_well"])
    return 2 if found else 0
