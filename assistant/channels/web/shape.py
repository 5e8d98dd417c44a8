"""An answer record in the parts that a page shows: the answer large, lists with their marks, the working folded away.

Only what a line begins with is looked at, and those beginnings come from the sentences in knowledge/ themselves.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from typing import Any

from assistant.night import Night
from knowledge.library import table

NUMBERS = ("nurse_line", "supplier", "emergency")
ORDINALS = ("one", "two", "three")
LONG = 90  # characters from which the answer's first line is shown smaller
TOGETHER = re.compile(r"(?<=\d) (?=(?:mL|h|min|cm|kcal|kg|g|am|pm)\b)")  # a number and its unit stay on one line


def answers(record: Mapping[str, Any], night: Night) -> list[dict[str, Any]]:
    """One message's answers, in order. The text of several is parted by an empty line."""
    texts, records = record["text"].split("\n\n"), [record, *record.get("also", ())]
    if len(texts) != len(records):
        texts, records = [record["text"].replace("\n\n", "\n")], [record]
    return [_answer(text, one, night) for text, one in zip(texts, records, strict=True)]


def _answer(text: str, record: Mapping[str, Any], night: Night) -> dict[str, Any]:
    made: dict[str, Any] = {"level": record["level"], "card": record["card"], "parts": [], "folded": []}
    lines = [line for line in text.split("\n") if line.strip()]
    lead = next((line for line in lines if line.startswith(_step())), lines[0])
    made["lead"], made["long"] = linked(lead, night), len(lead) > LONG
    begins = lines.index(lead)
    made["after"] = [linked(line, night) for line in lines[:begins]]  # a walk-through's opening words go below the step
    numbered = {f"{n}. {c['label']}" for n, c in enumerate(record.get("choices", ()), 1)}  # the buttons say these
    for line in lines[begins + 1:]:
        if line in numbered:
            continue
        if line.startswith(_folded()):
            made["folded"].append(line)
        else:
            _add(made["parts"], line, night)
    made["choices"] = choices(record, night)
    made["field"] = _field(record)
    made["call"] = _call(record["level"], night)
    return made


def _add(parts: list[dict[str, Any]], line: str, night: Night) -> None:
    """A line, or the next item of a list whose heading came before."""
    if not line.startswith("- "):
        parts.append({"text": linked(line, night), "mark": _mark(line), "items": []})
        return
    if not parts or not (parts[-1]["items"] or parts[-1]["mark"]):
        parts.append({"text": [], "mark": "do", "items": []})
    parts[-1]["items"].append(linked(line[2:], night))


def _mark(line: str) -> str:
    labels = table("sentences_en")["card"]
    return "do_not" if line == labels["do_not"] else "tell" if line == labels["tell"] else ""


def _call(level: str, night: Night) -> dict[str, str] | None:
    """Whom to call for an answer of that level, as a number to tap."""
    who = {"emergency": "emergency", "urgent": "nurse_line"}.get(level)
    number = getattr(night.plan.contacts, who, None) if who and night.plan else None
    return None if number is None or who is None else {"who": who, "number": number, "to": to_dial(number)}


def _field(record: Mapping[str, Any]) -> str:
    """Does a question back want a field under it: "decimal" for digits, "text" for words, else empty."""
    words, asks = table("page_en")["answer"], record.get("asks")
    if record["outcome"] != "asked_back" or asks is None or asks in words["no_field"]:
        return ""
    return "decimal" if asks in words["digits"] else "text"


def choices(record: Mapping[str, Any], night: Night) -> list[dict[str, str]]:
    """The buttons under a question back: its label, and the words that it says."""
    offered = record.get("choices", ())
    words = table("page_en")["answer"]
    if len(offered) == 2 and all(c["intent"] == "guide" for c in offered) and "1." not in record["text"]:
        return [{"label": c["label"], "says": says} for c, says in zip(offered, ("yes", "no"), strict=True)]
    if offered:
        return [{"label": c["label"], "says": says} for c, says in zip(offered, ORDINALS, strict=False)]
    if record.get("asks") == "sure":
        return [{"label": words[says], "says": says} for says in ("yes", "no")]
    if record.get("asks") == "which_number" and f'"{words["leave_out"]["says"]}"' in record["text"]:
        return [words["leave_out"]]
    if record.get("asks") == "which_feed":
        return [{"label": feed.name, "says": feed.name} for feed in night.feeds]
    return []


def linked(text: str, night: Night) -> list[dict[str, str]]:
    """Text in pieces; a telephone number of the plan becomes one that can be tapped."""
    numbers = contacts(night)
    text = TOGETHER.sub("\u00a0", text)
    if not numbers:
        return [{"text": text}]
    known = "|".join(re.escape(n) for n in sorted(numbers, key=len, reverse=True))
    pieces = re.split(rf"(?<![\d-])({known})(?![\d-])", text)
    return [{"text": p, "to": to_dial(p)} if p in numbers else {"text": p} for p in pieces if p]


def contacts(night: Night) -> set[str]:
    known = night.plan.contacts if night.plan else None
    return {number for name in NUMBERS if (number := getattr(known, name, None))}


def to_dial(number: str) -> str:
    return "".join(mark for mark in number if mark.isdigit() or mark in "+*#")


@cache
def _folded() -> tuple[str, ...]:
    general = table("sentences_en")
    kinds = (general["working"], general["source_note"], general["accuracy"], *general["origins"].values())
    return tuple(kind.partition("{")[0].partition("LOW")[0] for kind in kinds)


@cache
def _step() -> str:
    return str(table("guide_words_en")["lines"]["step_text"].partition("{")[0])
