"""The API of the page's server, from outside: shapes, refusals, odd input, two conversations, a restart."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from page_server import Patient, Server, household

NIGHT = "2026-11-26T02:10"
KEYS = {"heard", "intent", "card", "outcome", "level", "figures", "used", "working", "text", "speech", "sources",
        "defers"}


@pytest.fixture(scope="module")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Server]:
    made = Server("--home", household(tmp_path_factory.mktemp("api") / "home"), "--now", NIGHT)
    yield made
    assert "Traceback" not in made.stop()


@pytest.fixture(scope="module")
def call(server: Server) -> Iterator[Patient]:
    with server.client() as client:
        yield Patient(client)


def test_a_question_gives_the_answer_record(call: Patient) -> None:
    record = call.ask("How long will 360 mL last at 72 mL/h?", now="2026-11-25T22:00")
    assert set(record) >= KEYS
    assert record["figures"]["duration"]["value"] == 5          # 360 / 72
    assert record["figures"]["finish_at"]["value"] == "2026-11-26T03:00:00-04:00"


def test_without_a_now_the_server_s_clock_counts(call: Patient) -> None:
    finish = call.ask("How long will 360 mL last at 72 mL/h?")["figures"]["finish_at"]["value"]
    assert finish.startswith("2026-11-26T07:")                  # 02:10 and 5 h, and the seconds since it began


def test_danger_is_heard_first(call: Patient) -> None:
    record = call.ask("she cannot breathe, and how long will 360 last at 72")
    assert record["intent"] == "caution" and record["level"] == "emergency"


def test_the_rest_webhook_has_rasa_s_shape_and_keeps_conversations_apart(call: Patient) -> None:
    def say(sender: str, text: str) -> str:
        got = call("POST", "/webhooks/rest/webhook", json={"sender": sender, "message": text})
        assert got.status_code == 200 and [set(m) for m in got.json()] == [{"recipient_id", "text"}]
        assert got.json()[0]["recipient_id"] == sender
        return str(got.json()[0]["text"])

    assert "in the bag" in say("kitchen", "how long will the bag last")
    say("bedroom", "hello")
    assert "5 h 33 min" in say("kitchen", "400 mL")             # 400 / 72, the question asked in the kitchen
    assert "5 h 33 min" not in say("bedroom", "400 mL")


def test_model_parse_has_rasa_s_shape_and_writes_nothing(call: Patient) -> None:
    got = call("POST", "/model/parse", json={"text": "how long will 360 mL last at 72 mL/h"}).json()
    assert set(got) == {"text", "intent", "entities", "intent_ranking"}
    assert got["intent"]["name"] == "bag_duration" and got["intent_ranking"][0] == got["intent"]
    entities = [(e["entity"], e["value"], e["unit"]) for e in got["entities"]]
    assert entities == [("volume", 360, "mL"), ("rate", 72, "mL/h")]
    assert all(got["text"][e["start"]:e["end"]] == e["text"] for e in got["entities"])
    danger = call("POST", "/model/parse", json={"text": "she is choking"}).json()
    assert danger["intent"] == {"name": "caution/choking", "confidence": 1.0}
    assert call("GET", "/api/state").json()["feed"] is None


def test_health_needs_nothing(call: Patient) -> None:
    assert call("GET", "/health").json() == {"status": "ok"}


def test_two_conversations_and_one_log(server: Server) -> None:
    """Follow-ups stay apart; what one writes down the other sees at once."""
    with server.client() as one, server.client() as two:
        for client in (one, two):
            assert client.get("/").status_code == 200            # each browser is given a conversation of its own
        first, second = Patient(one), Patient(two)
        assert first.ask("how long will the bag last")["asks"] == "volume"
        assert second.ask("hello")["intent"] == "greet"
        assert first.ask("360")["figures"]["duration"]["value"] == 5
        first.ask("the overnight feed started at 20:45 yesterday", now="2026-11-26T00:45")
        seen = second.ask("how much has gone in", now="2026-11-26T00:45")
        assert seen["figures"]["delivered"]["value"] == 288     # 4 h x 72
        assert second.ask("undo")["outcome"] in ("done", "answered", "asked_back")


def test_the_same_request_again_writes_once(call: Patient) -> None:
    before = call("GET", "/log").text.count("flush, ") + call("GET", "/log").text.count("17 mL")
    for _ in range(3):
        assert call.ask("flushed with 17 ml just now", request="one-and-the-same")["outcome"] == "done"
    assert call("GET", "/log").text.count("17 mL") == before + 1


def test_a_reminder_is_due_until_it_was_seen(call: Patient) -> None:
    call.ask("remind me at 01:00 to turn her", now="2026-11-26T00:30")
    due = call("GET", "/api/state").json()["due"]
    assert len(due) == 1 and "turn her" in due[0]["text"] and due[0]["at"] == "2026-11-26T01:00:00-04:00"
    assert call("POST", "/api/seen", json={"id": due[0]["id"]}).json() == {"seen": True}
    assert call("POST", "/api/seen", json={"id": due[0]["id"]}).json() == {"seen": False}
    assert call("GET", "/api/state").json()["due"] == []


def test_events_tell_the_state_and_what_changes(server: Server) -> None:
    told: list[tuple[str, Any]] = []
    with server.client() as client, client.stream("GET", "/api/events") as stream:
        assert stream.headers["content-type"].startswith("text/event-stream")
        lines = stream.iter_lines()

        def read(until: int) -> None:
            while len(told) < until:
                line = next(lines)
                if line.startswith("event: ") and line != "event: beat":   # the beat that says "still here"
                    told.append((line[7:], json.loads(next(lines)[6:])))

        read(2)
        assert [name for name, _ in told] == ["state", "reminders"]
        with server.client() as other:
            Patient(other).ask("remind me in 5 hours to check the pump")
        read(3)
        assert told[2][0] == "state" and "check the pump" in told[2][1]["reminders"][-1]["text"]


def test_the_conversation_outlives_the_server(tmp_path: Path) -> None:
    server = Server("--home", household(tmp_path / "home"), "--now", NIGHT)
    try:
        with server.client() as client:
            client.get("/")
            assert Patient(client).ask("how long will the bag last")["asks"] == "volume"
            server.stop(kill=True)
            server.begin()
            assert Patient(client).ask("360")["figures"]["duration"]["value"] == 5
    finally:
        assert "Traceback" not in server.stop()


def test_a_plan_alone_writes_nothing(tmp_path: Path, empty_home: Path) -> None:
    from conftest import DEMO

    server = Server("--plan", str(DEMO / "adult_syringe.toml"))
    try:
        with server.client() as client:
            assert "remind" in Patient(client).ask("remind me at 23:00 to flush")["intent"]
            assert client.get("/").status_code == 200
        assert list(empty_home.rglob("*")) == []
    finally:
        server.stop()
