"""What every test shares: no helper process unless a test asks for one, and no data of whoever runs the tests."""

from __future__ import annotations

import os
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "demo"

os.environ["BAGSIDE_HELPER"] = "off"        # before anything is imported: it is read when a question is asked


@pytest.fixture
def empty_home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A home folder of its own for this test, still without anything in it."""
    home = tmp_path / "home"
    home.mkdir()
    for name in ("XDG_DATA_HOME", "XDG_CACHE_HOME", "XDG_RUNTIME_DIR", "XDG_CONFIG_HOME"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("HOME", str(home))
    return home


@pytest.fixture
def demo_session() -> Callable[..., tuple[object, datetime]]:
    """A session over a demonstration household (or none), and the instant it is at."""

    def opened(name: str | None, now: str = "2026-11-25T22:00") -> tuple[object, datetime]:
        from assistant.household.care_plan import read_plan
        from assistant.session import Session, instant

        plan = read_plan(DEMO / f"{name}.toml") if name else None
        return Session(plan), instant(now if plan else f"{now}:00-05:00", plan)

    return opened
