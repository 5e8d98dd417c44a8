"""The actions for all the homes of a service, in two processes: each sender is one home and reaches no other."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import httpx
import pytest
from conftest import DEMO
from test_rasa_door import Actions, Capture, call
from worker_processes import client_at, workers

from assistant.cli import main
from assistant.homes.homes import Homes, open_homes

NOW = datetime(2026, 11, 20, tzinfo=UTC)
SECRET = "a-long-shared-secret"


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def service(request: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Actions, Homes]]:
    sqlite = request.param == "sqlite"
    where = str(tmp_path_factory.mktemp("homes")) if sqlite else request.getfixturevalue("cluster").new_database()
    homes = open_homes(where)
    for code, plan in (("K-17", "child_overnight_pump"), ("K-18", "adult_syringe")):
        homes.put_plan(code, (DEMO / f"{plan}.toml").read_bytes(), NOW)
    with pytest.MonkeyPatch.context() as env:
        env.setenv("BAGSIDE_ACTION_TOKEN", SECRET)
        server = Actions("--homes", where, "--workers", "2", "--now", "2026-11-25T20:45-04:00")
    yield server, homes
    homes.close()
    assert "Traceback" not in server.stop()


def asked(client: httpx.Client, sender: str, text: str, talk: Any = None, message: str = "") -> httpx.Response:
    sent = call(text, "action_help", talk, message)
    sent["tracker"]["sender_id"] = sent["sender_id"] = sender
    return client.post(f"/webhook?token={SECRET}", json=sent)


@pytest.fixture
def two(service: tuple[Actions, Homes]) -> Iterator[list[httpx.Client]]:
    """A client at each worker."""
    server, _ = service
    made = [client_at(server, pid) for pid in workers(server)]
    assert len(made) == 2
    yield made
    for one in made:
        one.close()


@pytest.fixture(autouse=True)
def health_with_the_secret(monkeypatch: pytest.MonkeyPatch) -> None:
    """The server answers nobody without it, not even its health."""
    get = httpx.Client.get
    monkeypatch.setattr(httpx.Client, "get", lambda self, path, **more: get(self, f"{path}?token={SECRET}", **more))


def test_a_thread_goes_on_at_the_other_worker_and_is_the_homes_own(
    service: tuple[Actions, Homes], two: list[httpx.Client]
) -> None:
    first = asked(two[0], "K-17/anna", "how long will it last at 60 mL/h?").json()
    assert first["responses"][0]["custom"]["outcome"] == "asked_back"
    talk = first["events"][0]["value"]
    then = asked(two[1], "k-17/anna", "300 mL", talk).json()["responses"][0]["custom"]
    assert "5 h" in then["text"]                                         # 300 / 60
    alone = asked(two[1], "K-17/ben", "300 mL").json()["responses"][0]["custom"]
    assert alone["outcome"] == "asked_back"                              # no conversation is kept here


def test_each_home_has_its_own_plan_and_log(service: tuple[Actions, Homes], two: list[httpx.Client]) -> None:
    _, homes = service
    told = [asked(one, "K-17", "flushed with 20 mL just now", None, "m1").json()["responses"][0] for one in two]
    assert told[0] == told[1] and told[0]["custom"]["outcome"] == "done"
    assert [len(homes.store(code).events()) for code in ("K-17", "K-18")] == [1, 0]
    rates = [asked(two[0], code, "what is the rate in the plan?").text for code in ("K-17", "K-18")]
    assert "72 mL/h" in rates[0] and "72 mL/h" not in rates[1]


@pytest.mark.parametrize("sender", ["K-99", "", "DESK", "../K-17", "anna", "K-17 OR 1=1", "K" * 500, "/K-17", "K-1"])
def test_a_sender_who_is_no_home_gets_nothing(two: list[httpx.Client], sender: str) -> None:
    got = asked(two[0], sender, "what is the rate in the plan?")
    assert got.status_code == 404 and got.json()["error"] == "no_home" and "72" not in got.text


def test_without_the_secret_nobody_is_answered(two: list[httpx.Client]) -> None:
    assert two[0].post("/webhook", json=call("hello", "action_greet")).status_code == 403
    assert two[0].post("/webhook?token=wrong", json=call("hello", "action_greet")).status_code == 403


@pytest.mark.parametrize("token", ["", "short"])
def test_it_does_not_begin_without_a_secret(
    tmp_path: Path, token: str, capsys: Capture, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("BAGSIDE_ACTION_TOKEN", token)
    assert main(["actions", "--homes", str(tmp_path), "--port", "0"]) == 2
    assert "a sender names a home" in capsys.readouterr().err


def test_danger_is_heard_while_the_database_is_down(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BAGSIDE_ACTION_TOKEN", SECRET)
    server = Actions("--homes", "postgresql://nobody@127.0.0.1:9/none")
    try:
        with server.client() as client:
            got = asked(client, "K-17", "she can't breathe").json()["responses"][0]
            assert got["custom"]["level"] == "emergency" and "does not answer" in got["text"]
            told = asked(client, "K-17", "flushed with 20 mL just now").json()["responses"][0]
            assert told["custom"]["outcome"] == "declined" and "Written down" not in told["text"]
    finally:
        assert "Traceback" not in server.stop()
