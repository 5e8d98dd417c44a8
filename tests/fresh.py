"""For mutation testing: nothing that was worked out without the fault is kept, and every run tries the same values."""

from __future__ import annotations

import gc
import sys

import pytest
from hypothesis import settings

settings.register_profile("same", derandomize=True, deadline=None, database=None)
settings.load_profile("same")


def pytest_configure() -> None:
    gc.freeze()         # what was loaded before stays: collecting it again and again took half of each run


def pytest_runtestloop(session: pytest.Session) -> None:
    for name, module in list(sys.modules.items()):
        ours = name.split(".")[0] in ("rules", "knowledge")
        if ours and name != "rules.quantity":      # there is one registry for all amounts
            for thing in vars(module).values():
                if hasattr(thing, "cache_clear"):
                    thing.cache_clear()
