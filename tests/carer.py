"""A carer in the tests: one conversation on a demo household, a minute a turn, through the whole assistant."""

from __future__ import annotations

import tomllib
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from conftest import DEMO

from assistant.household.care_plan import read_plan
from assistant.night import Night
from assistant.session import Session, instant
from assistant.walk import guides

DATA = tomllib.loads((Path(__file__).parent / "guides" / "opening.toml").read_text(encoding="utf-8"))
AT = "2026-11-25T20:30"


class Carer:
    """One conversation a minute a turn."""

    def __init__(self, plan: str, at: str = AT) -> None:
        self.plan = read_plan(DEMO / f"{plan}.toml")
        self.session, self.now = Session(self.plan), instant(at, self.plan)
        self.record: dict[str, Any] = {}

    def say(self, text: str, later_by: int = 1) -> dict[str, Any]:
        self.now += timedelta(minutes=later_by)
        self.record = self.session.say(text, self.now)
        return self.record

    @property
    def guide(self) -> dict[str, Any] | None:
        kept = self.session.tracker.slots["talk"]["guide"]
        return dict(kept) if kept else None

    @property
    def step(self) -> str | None:
        steps = self.steps()
        return None if self.guide is None or self.guide["step"] >= len(steps) else steps[self.guide["step"]].name

    def steps(self) -> tuple[guides.Step, ...]:
        if self.guide is None:
            return ()
        feed = next((f for f in self.plan.feeds if f.name == self.guide["feed"]), None)
        started = datetime.fromisoformat(self.guide["started"])
        return guides.steps_for(self.guide["guide"], Night(self.plan, self.now), feed, started)

    def through(self) -> list[str]:
        """Next until the guide asks whether to write it down; the texts that were shown."""
        shown = [self.record["text"]]
        for _ in range(40):
            if self.record.get("asks"):
                break
            shown.append(self.say("next")["text"])
        return shown
