"""What every test shares: no helper process unless a test asks for one, and no data of whoever runs the tests."""

from __future__ import annotations

import gc
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest

ROOT = Path(__file__).parent.parent
DEMO = ROOT / "demo"

os.environ["BAGSIDE_HELPER"] = "off"        # before anything is imported: it is read when a question is asked
hypothesis.settings.register_profile("bagside", deadline=None)  # times are measured in benchmarks, never asserted
hypothesis.settings.load_profile("bagside")
gc.set_threshold(50_000)                    # what is loaded stays: looking through it again and again takes long


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
def records(tmp_path: Path) -> Any:
    """The records of a household that has the plan of the demo's child."""
    from assistant.household.home import open_home, use_plan  # only now: see above

    made = open_home(tmp_path / "home")
    use_plan(made, DEMO / "child_overnight_pump.toml")
    return made


@pytest.fixture(scope="session")
def cluster() -> Iterator[Any]:
    """A throwaway PostgreSQL, one for the whole run."""
    from postgres import Cluster, missing

    if why := missing():
        pytest.skip(why)
    made = Cluster()
    yield made
    made.remove()


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Chromium, one for all tests of a module (its event loop would be in the way of others)."""
    from browser import started

    with started() as made:
        yield made


@pytest.fixture(scope="module")
def night(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """A household's server in the night, its feed running: one for all tests of a module."""
    from page_server import served

    server = served(tmp_path_factory.mktemp("night"))
    yield server
    assert "Traceback" not in server.stop()


@pytest.fixture
def own() -> Iterator[list[Any]]:
    """Servers of one test alone; ended when it ends."""
    made: list[Any] = []
    yield made
    for server in made:
        assert "Traceback" not in server.stop()


@pytest.fixture
def imported(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """`bagside plan import` of an order, with typed answers."""
    from fhir_orders import Import

    return Import(tmp_path, monkeypatch, capsys)
