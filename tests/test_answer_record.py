"""Every record, whatever was said, has the shape that other programs rely on (DEVELOPERS.md, "The answer record")."""

from __future__ import annotations

import json
import re
from datetime import date, datetime
from functools import cache
from typing import Any

import pytest
from test_conversations import CASES, open_session

from assistant.cards import names as card_names
from assistant.gather import names as sums
from knowledge.library import table
from rules.quantity import UCUM

KEYS = {"heard": str, "intent": str, "outcome": str, "level": str, "figures": dict, "used": dict, "working": str,
        "text": str, "speech": str, "sources": list, "defers": bool}
MAY_HAVE = {"card", "asks", "choices", "also"}
OUTCOMES = {"answered", "asked_back", "done", "declined"}
LEVELS = {"emergency", "urgent", "same_day", "routine", "none"}
ORIGINS = {"question", "care plan", "feed log", "clock", "standard"}
TALK = set(table("labels_en")) | {
    "caution", "out_of_scope", "unclear", "plan_lookup", "log_lookup", "contact", "log_start", "log_pause",
    "log_resume", "log_stop", "log_flush", "log_poured", "log_symptom", "undo", "remind", "cancel_reminder", "guide",
    "next_step", "previous_step", "repeat", "slower", "explain", "handoff", "help", "greet", "thanks", "yes", "no",
    "stop",
}
MOST_WORDS, MOST_SENTENCES = 35, 2
SYMBOLS = re.compile(r"[÷×=*/%°<>\[\]{}_|#~^+]|\bmL\b|\bkcal\b|\bmL/h\b")
PHONE = re.compile(r"\+?\d[\d -]*\d|\b\d{3}\b")
MORE = (
    "", "   ", "?", "hello", "help", "what is this", "how long", "yes", "no", "7", "2 1/2", "the pump beeps",
    "there is redness at the site", "she has diarrhoea today", "his balloon burst", "she threw up a little",
    "the tube is blocked", "she is choking", "there is smoke in the kitchen", "call me a taxi",
    "what does the plan say",
    "walk me through a flush", "next", "go back", "stop", "who is the nurse", "what can you do", "write that down",
)
PLANS = (None, "child_overnight_pump", "infant_powder", "adult_syringe", "adult_jejunal_cycle")


@cache
def all_records() -> tuple[tuple[str, dict[str, Any]], ...]:
    """(where it comes from, record) of every conversation, and of short messages to every household."""
    found = []
    for case in CASES:
        session, now = open_session(case)
        found += [(f"{case['id']}: {t['say']}", session.say(t["say"], now)) for t in case["turn"]]
    for plan in PLANS:
        now = "2026-11-25T22:00" if plan else "2026-11-25T22:00-05:00"
        for text in MORE:
            session, at = open_session({"plan": plan, "now": now})
            found.append((f"{plan}: {text}", session.say(text, at)))
    return tuple(found)


def every(record: dict[str, Any]) -> list[dict[str, Any]]:
    return [record, *({"heard": "", **r} for r in record.get("also", ()))]


def wrong(check: Any) -> list[str]:
    """Where a check of single records (the top one and those in `also`) finds a fault."""
    return [f"{where}: {fault}" for where, top in all_records() for r in every(top) if (fault := check(r))]


def test_every_key_is_there_with_its_type() -> None:
    def check(record: dict[str, Any]) -> str | None:
        for key, kind in KEYS.items():
            if not isinstance(record.get(key), kind):
                return f"{key} is {record.get(key)!r}"
        return str(extra) if (extra := set(record) - set(KEYS) - MAY_HAVE) else None

    assert not wrong(check)


def test_names_come_from_their_lists() -> None:
    def check(record: dict[str, Any]) -> str | None:
        if record["outcome"] not in OUTCOMES or record["level"] not in LEVELS:
            return f"{record['outcome']}, {record['level']}"
        if record["intent"] not in TALK | sums():
            return f"intent {record['intent']}"
        if (record["card"] is not None) != (record["intent"] == "caution" and record["outcome"] == "answered"):
            return f"card {record['card']} with {record['intent']}, {record['outcome']}"
        return None if record["card"] in {None, *card_names()} else f"card {record['card']}"

    assert not wrong(check)


def test_asks_is_there_when_something_is_asked() -> None:
    def check(record: dict[str, Any]) -> str | None:
        if record["outcome"] == "asked_back" and not isinstance(record.get("asks"), str):
            return "asked back without saying for what"
        if record["outcome"] in ("answered", "done") and record.get("asks") is not None:
            return f"{record['outcome']} and asks {record['asks']}"
        choices = record.get("choices", [])
        bad = len(choices) > 3 or any(not c.get("label") or not c.get("intent") for c in choices)
        return f"choices {choices}" if bad else None

    assert not wrong(check)


def test_an_answer_names_its_sources() -> None:
    def check(record: dict[str, Any]) -> str | None:
        if record["outcome"] == "answered" and not record["sources"]:
            return "no source"
        keys = {"id", "title", "publisher", "year", "where"}
        return next((str(s) for s in record["sources"] if set(s) != keys or not (s["id"] and s["title"])), None)

    assert not wrong(check)


def test_figures_have_codes_and_bounds_in_order() -> None:
    def check(record: dict[str, Any]) -> str | None:
        for name, figure in record["figures"].items():
            if figure["unit"] not in {*UCUM.values(), ""}:
                return f"{name} in {figure['unit']!r}"
            low, high = (figure.get(b, figure["value"]) for b in ("low", "high"))
            if not in_order(low, figure["value"], high):
                return f"{name}: {low}, {figure['value']}, {high}"
        return None

    assert not wrong(check)


def in_order(low: Any, value: Any, high: Any) -> bool:
    """Numbers, booleans, days or instants with an offset, and never out of order."""
    if isinstance(value, str):
        if len(value) == 10:
            return date.fromisoformat(value) is not None
        times = [datetime.fromisoformat(t) for t in (low, value, high)]
        return all(t.tzinfo for t in times) and times == sorted(times)
    return isinstance(value, (int, float)) and low <= value <= high


def test_every_value_says_where_it_is_from() -> None:
    def check(record: dict[str, Any]) -> str | None:
        return next((f"{n}: {u}" for n, u in record["used"].items() if u["from"] not in ORIGINS), None)

    assert not wrong(check)


def test_speech_is_short_and_without_signs() -> None:
    def check(record: dict[str, Any]) -> str | None:
        speech = record["speech"]
        plain = PHONE.sub("", speech)
        sentences = [s for s in re.split(r"(?<=[.!?])(?: |$)", speech) if s]
        if not speech.strip() or len(speech.split()) > MOST_WORDS or SYMBOLS.search(plain) or re.search(r"\d", plain):
            return f"{len(speech.split())} words: {speech}"
        if len(sentences) > MOST_SENTENCES and record["intent"] != "slower":
            return f"{len(sentences)} sentences: {speech}"
        return None

    assert not wrong(check)


def test_what_is_deferred_says_whom_to_call() -> None:
    def check(record: dict[str, Any]) -> str | None:
        return record["text"] if record["defers"] and not re.search(r"call|ask", record["text"], re.I) else None

    assert not wrong(check)


def test_records_are_json_and_the_same_every_time() -> None:
    again = all_records.__wrapped__()
    for (where, first), (_, second) in zip(all_records(), again, strict=True):
        assert json.loads(json.dumps(first, allow_nan=False)) == first == second, where


def test_no_answer_is_a_fault_of_ours() -> None:
    fault = table("sentences_en")["fault"][:20]
    assert not [where for where, record in all_records() if fault in record["text"]]


@pytest.mark.parametrize("sign", ["She is not breathing.", "He is choking.", "Her lips have gone blue."])
@pytest.mark.parametrize("sum_", ["How long will 300 mL last at 60?", "How many calories are in 500 mL?"])
@pytest.mark.parametrize("sign_first", [True, False])
def test_an_emergency_comes_before_any_sum(sign: str, sum_: str, sign_first: bool) -> None:
    for plan in PLANS:
        session, now = open_session({"plan": plan, "now": "2026-11-25T22:00" + ("" if plan else "-05:00")})
        record = session.say(f"{sign} {sum_}" if sign_first else f"{sum_} {sign}", now)
        assert (record["intent"], record["outcome"], record["level"]) == ("caution", "answered", "emergency"), plan
        assert not record["figures"] and "mL" not in record["text"].splitlines()[0]
