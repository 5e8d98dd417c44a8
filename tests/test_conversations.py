"""Whole conversations over the four demonstration households: turns in, records out, through the session only.

Expected figures come from the arithmetic shown in each turn's `sum`. A turn that is known to go wrong says why in
`xfail`; a conversation that goes wrong nowhere else counts as expected to fail.
"""

from __future__ import annotations

import tomllib
import warnings
from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from assistant.channels.replay import event
from assistant.household.care_plan import read_plan
from assistant.session import Session, instant

TESTS = Path(__file__).parent
DEMO = TESTS.parent / "demo"
KEYS = {"id", "plan", "now", "log", "turn"}
TURN_KEYS = {"say", "later", "intent", "card", "outcome", "figures", "no_figures", "level", "asks", "text_has",
             "text_lacks", "speech_has", "defers", "also", "used_from", "sum", "xfail"}


@dataclass
class Played:
    """One turn after it was played: its record, and every way in which it is not as expected."""

    turn: dict[str, Any]
    record: dict[str, Any]
    faults: list[str] = field(default_factory=list)


def conversations() -> list[dict[str, Any]]:
    """Every conversation of every file; a key that nobody reads is an error, so that no expectation is lost."""
    found: list[dict[str, Any]] = []
    for path in sorted((TESTS / "conversations").glob("*.toml")):
        for case in tomllib.loads(path.read_text(encoding="utf-8"))["conversation"]:
            unknown = set(case) - KEYS | {k for t in case["turn"] for k in set(t) - TURN_KEYS}
            assert not unknown, f"{path.name}, {case.get('id')}: unknown keys {sorted(unknown)}"
            found.append({**case, "id": f"{path.stem}:{case['id']}"})
    return found


def open_session(case: dict[str, Any]) -> tuple[Session, datetime]:
    plan = read_plan(DEMO / f"{case['plan']}.toml") if case.get("plan") else None
    now = instant(case["now"], plan, twice_is_first=True)
    return Session(plan, tuple(event(e, plan) for e in case.get("log", ()))), now


def play(case: dict[str, Any]) -> list[Played]:
    """All turns in order; `later` (minutes) moves the clock on before a turn."""
    session, now = open_session(case)
    played = []
    for turn in case["turn"]:
        now = now + timedelta(minutes=turn.get("later", 0))
        record = session.say(turn["say"], now)
        played.append(Played(turn, record, list(faults(turn, record))))
    return played


def faults(turn: dict[str, Any], record: dict[str, Any]) -> list[str]:
    """Each way in which a record is not what the turn expects."""
    found: list[str] = []
    every = [record, *record.get("also", ())]
    if "intent" in turn and record["intent"] not in turn["intent"]:
        found.append(f"intent {record['intent']}, wanted {turn['intent']}")
    if "also" in turn and [r["intent"] for r in every] != turn["also"]:
        found.append(f"answers {[r['intent'] for r in every]}, wanted {turn['also']}")
    for key in ("outcome", "level", "card", "defers", "asks"):
        allowed = turn[key] if isinstance(turn.get(key), list) else [turn.get(key)]
        if key in turn and record.get(key) not in allowed:
            found.append(f"{key} {record.get(key)!r}, wanted {turn[key]!r}")
    if turn.get("no_figures") and any(set(r["figures"]) - {"matches", "factor"} for r in every):
        found.append(f"figures {record['figures']} where none is wanted")
    found += [f"text lacks {w!r}" for w in turn.get("text_has", ()) if w.lower() not in record["text"].lower()]
    found += [f"text has {w!r}" for w in turn.get("text_lacks", ()) if w.lower() in record["text"].lower()]
    found += [f"speech lacks {w!r}" for w in turn.get("speech_has", ()) if w.lower() not in record["speech"].lower()]
    for name, origin in turn.get("used_from", {}).items():
        if (given := record["used"].get(name, {}).get("from")) != origin:
            found.append(f"{name} is from {given}, wanted {origin}")
    for name, wanted in turn.get("figures", {}).items():
        given = next((r["figures"][name] for r in every if name in r["figures"]), None)
        if fault := figure_fault(name, given, wanted):
            found.append(fault)
    return found


def figure_fault(name: str, given: dict[str, Any] | None, wanted: dict[str, Any]) -> str | None:
    """A figure beside the expected one: same unit, and equal, or apart by no more than `within` (minutes for times)."""
    if given is None:
        return f"no figure {name}, wanted {wanted['value']}"
    value, unit = given["value"], wanted.get("unit", "")
    if unit and given["unit"] != unit:
        return f"{name} in {given['unit']!r}, wanted {unit!r}"
    if isinstance(wanted["value"], str) and "T" in wanted["value"]:
        apart = abs(datetime.fromisoformat(str(value)) - datetime.fromisoformat(wanted["value"]))
        close = apart <= timedelta(minutes=wanted.get("within", 0.6))
    elif isinstance(wanted["value"], (bool, str)):
        close = value == wanted["value"]
    else:
        close = abs(float(value) - float(wanted["value"])) <= wanted.get("within", 0.005)
    return None if close else f"{name} {value} {given['unit']}, wanted {wanted['value']} {unit}"


CASES = conversations()
COMPUTED = [
    "bag_duration", "finish_at", "start_by", "delivered", "remaining", "rate_needed", "change_rate", "catch_up",
    "pour", "discard_at", "prime", "check_settings", "opened_until", "timetable", "clock_change", "energy",
    "protein", "water", "intake", "per_kg", "strength", "mix", "containers", "supply", "battery", "flush",
    "drops", "syringe", "convert", "advance",
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_a_conversation(case: dict[str, Any]) -> None:
    wrong: list[str] = []
    expected: list[str] = []
    for number, one in enumerate(play(case), 1):
        for fault in one.faults:
            line = f"turn {number} {one.turn['say']!r}: {fault}\n    {one.record['text']}"
            (expected if "xfail" in one.turn else wrong).append(line)
    assert not wrong, "\n".join(wrong)
    if expected:
        pytest.xfail("\n".join(expected))
    if any("xfail" in turn for turn in case["turn"]):
        warnings.warn(f"{case['id']}: goes right now, its xfail can go", stacklevel=1)


def test_there_are_enough_of_them() -> None:
    assert len({case["id"] for case in CASES}) == len(CASES) >= 70
    assert sum(len(case["turn"]) for case in CASES) >= 160
    plans = Counter(case.get("plan") for case in CASES)
    assert all(plans[p] >= 5 for p in ("child_overnight_pump", "infant_powder", "adult_syringe", "adult_jejunal_cycle"))


def test_every_sum_is_asked_at_least_twice() -> None:
    asked = Counter(i for case in CASES for turn in case["turn"] for i in turn.get("intent", turn.get("also", ())))
    assert not [intent for intent in COMPUTED if asked[intent] < 2]


def test_every_expected_figure_shows_its_arithmetic() -> None:
    bare = [turn["say"] for case in CASES for turn in case["turn"] if turn.get("figures") and not turn.get("sum")]
    assert not bare
