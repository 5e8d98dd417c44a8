"""`bagside replay FILE`: scripted conversations, one JSON object a line. Reads plans; touches no household."""

from __future__ import annotations

import json
import sys
from functools import cache
from pathlib import Path
from typing import Any, TextIO

from assistant.household.care_plan import CarePlan, read_plan
from assistant.household.plan_faults import PlanFaults, Wrong
from assistant.session import Session, instant
from knowledge.library import table
from rules.feed_state import Event

KINDS = frozenset(table("sentences_en")["log"]["kinds"])


def main(file: str, plan: str | None, as_json: bool, out: TextIO | None = None) -> int:
    """Play every line; 2 where the file, a line or a plan cannot be read (said on standard error), else 0."""
    out = out or sys.stdout
    lines = table("sentences_en")["replay"]
    try:
        script = Path(file).read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as fault:
        print(lines["file"].format(file=file, fault=fault), file=sys.stderr)
        return 2
    code = 0
    for number, line in enumerate(script, 1):
        if not line.strip():
            continue
        try:
            _play(json.loads(line), Path(file).parent, plan, as_json, out)
        except PlanFaults as faults:
            code = 2
            print("\n".join(faults.lines()), file=sys.stderr)
        except KeyError as fault:
            code = 2
            print(lines["line"].format(file=file, number=number, fault=f"without {fault}"), file=sys.stderr)
        except (ValueError, TypeError, Wrong) as fault:
            code = 2
            print(lines["line"].format(file=file, number=number, fault=fault), file=sys.stderr)
    return code


@cache
def _plan(path: Path) -> CarePlan:
    return read_plan(path)


def _play(case: dict[str, Any], folder: Path, plan: str | None, as_json: bool, out: TextIO) -> None:
    if not isinstance(case, dict) or not isinstance(case["turns"], list) or not isinstance(case.get("log", []), list):
        raise TypeError("no object, or turns or log that are no list")
    case["id"]  # nothing is played of a line that lacks its id
    chosen = (
        _plan((folder / case["plan"]).resolve()) if case.get("plan") else _plan(Path(plan).resolve()) if plan else None
    )
    now = instant(str(case["now"]), chosen, twice_is_first=True)
    session = Session(chosen, tuple(event(e, chosen) for e in case.get("log") or ()))
    for turn, text in enumerate(case["turns"], 1):
        record = session.say(str(text), now)
        if as_json:
            print(json.dumps({"id": case["id"], "turn": turn, **record}, ensure_ascii=False), file=out)
        else:
            print(f"> {text}\n{record['text']}\n", file=out)


def event(entry: dict[str, Any], plan: CarePlan | None) -> Event:
    """One logged event as it stands in a script: {"at", "event", "volume"?, "rate"?, "feed"?}; else ValueError."""
    if not isinstance(entry, dict) or entry["event"] not in KINDS:
        raise ValueError(f"no such event: {str(entry)[:80]}")
    amounts = {
        name: _amount(entry[name], measure)
        for name, measure in (("volume", "volume"), ("rate", "rate"))
        if entry.get(name) is not None
    }
    return Event(
        at=instant(entry["at"], plan, twice_is_first=True), kind=entry["event"], feed=entry.get("feed"), **amounts
    )


def _amount(text: str, measure: str) -> Any:
    from assistant.household.plan_amounts import read_amount
    from assistant.household.plan_file import _quantity

    return _quantity(read_amount(text, measure))
