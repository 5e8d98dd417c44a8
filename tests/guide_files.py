"""What the tests of the walk-throughs share: the demo households and the cases in tests/guides."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import Any

from conftest import DEMO

from assistant.household.care_plan import read_plan
from assistant.night import Night
from assistant.session import instant
from assistant.walk import guide_choice, guides

HERE = Path(__file__).parent / "guides"
PLANS = tuple(sorted(p.stem for p in DEMO.glob("*.toml")))
MOST_WORDS, MOST_SPOKEN, HARDEST = 20, 35, 6.0
PRINTED = {"30", "45"}  # figures that stand in a source and not in the plan: degrees and minutes


def data(name: str, key: str) -> list[dict[str, Any]]:
    return tomllib.loads((HERE / f"{name}.toml").read_text(encoding="utf-8"))[key]


def night(plan: str | None, at: str = "2026-11-25T20:30") -> Night:
    read = read_plan(DEMO / f"{plan}.toml") if plan else None
    return Night(read, instant(at if read else f"{at}:00+00:00", read))


def plainly(text: str) -> str:
    """Thousands as the steps write them: without a comma, which could be read as a decimal's."""
    return re.sub(r"(?<=\d),(?=\d{3}\b)", "", text)


def fitting(of: Night) -> list[str]:
    methods = {f.method for f in of.feeds}
    named = guide_choice.METHODS
    return [n for n in guides.names() if not guides.refusal_of(n, of) and (n not in named or named[n] in methods)]


def all_steps() -> list[tuple[str, str, guides.Step]]:
    found = []
    for plan in PLANS:
        of = night(plan)
        for name in fitting(of):
            for feed in guide_choice.feeds_of(name, of) or (None,):
                found += [(plan, name, step) for step in guides.steps_for(name, of, feed)]
    return found

def ids(entry: Any) -> str:
    return f"{entry.get('plan')}:{entry.get('guide') or entry.get('id') or entry['words']}"
