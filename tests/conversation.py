"""How a conversation of tests/conversations/ is read, played and compared. Everything goes through the session."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

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
    if missing := [i for i in turn.get("also", ()) if i not in {r["intent"] for r in every}]:
        found.append(f"no answer for {missing} among {[r['intent'] for r in every]}")
    for key in ("outcome", "level", "card", "defers"):
        if key in turn and record[key] != turn[key]:
            found.append(f"{key} {record[key]!r}, wanted {turn[key]!r}")
    if "asks" in turn and record.get("asks") not in ([turn["asks"]] if isinstance(turn["asks"], str) else turn["asks"]):
        found.append(f"asks {record.get('asks')!r}, wanted {turn['asks']!r}")
    if turn.get("no_figures") and any(r["figures"] for r in every):
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
