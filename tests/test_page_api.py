"""The API of the page's server, from outside: shapes, refusals, odd input, two conversations, a restart."""

from __future__ import annotations

import json
import threading
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from page_server import Patient, Server, household

NIGHT = "2026-11-26T02:10"
KEYS = {"heard", "intent", "card", "outcome", "level", "figures", "used", "working", "text", "speech", "sources", "defers"}
FEW = settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])


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
    assert [(e["entity"], e["value"], e["unit"]) for e in got["entities"]] == [("volume", 360, "mL"), ("rate", 72, "mL/h")]
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
            for line in lines:
                if line.startswith("data: "):
                    told.append((name, json.loads(line[6:])))
                    if len(told) >= until:
                        return
                name = line.removeprefix("event: ")

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


# -- whatever is sent: no fault of ours, one clear sentence, nothing of it said back -----------------------------------

SENT = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | st.text(max_size=40),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3), max_leaves=6,
)
PATHS = st.sampled_from(["/api/ask", "/api/seen", "/webhooks/rest/webhook", "/model/parse"])
NAMED = st.fixed_dictionaries({}, optional={
    name: SENT | st.text(max_size=200) for name in ("text", "now", "request", "sender", "message", "id")
})


def good(status: int) -> bool:
    return status == 200 or 400 <= status < 500


@FEW
@given(path=PATHS, sent=SENT | NAMED)
def test_any_json_is_answered_or_refused(call: Patient, path: str, sent: Any) -> None:
    got = call("POST", path, content=json.dumps(sent).encode(), headers={"content-type": "application/json"})
    assert good(got.status_code), got.text
    if got.status_code != 200:
        assert set(got.json()) == {"error", "text"}


@FEW
@given(path=PATHS, sent=st.binary(max_size=300), kind=st.sampled_from(
    ["application/json", "application/json; charset=latin-1", "text/plain", "multipart/form-data; boundary=x", ""]))
def test_any_bytes_are_refused_with_a_sentence(call: Patient, path: str, sent: bytes, kind: str) -> None:
    got = call("POST", path, content=sent, headers={"content-type": kind})
    assert good(got.status_code) and "Traceback" not in got.text


@FEW
@given(text=st.text(max_size=300))
def test_any_words_are_answered(call: Patient, text: str) -> None:
    record = call.ask(text)
    assert record["text"] and "Something went wrong" not in record["text"]


@FEW
@given(text=st.text(max_size=120))
def test_any_words_are_shown_as_words(server: Server, call: Patient, text: str) -> None:
    got = call("POST", "/ask", data={"text": f"<script>{text}</script><img src=x onerror=a>"},
               headers={"origin": server.address})
    assert got.status_code == 200
    assert "<script>" not in got.text and "<img" not in got.text


@FEW
@given(path=st.text(st.characters(codec="ascii", exclude_characters="\\"), min_size=1, max_size=40),
       method=st.sampled_from(["GET", "HEAD", "PUT", "DELETE", "OPTIONS", "PATCH"]))
def test_any_path_is_refused_with_a_sentence(server: Server, call: Patient, path: str, method: str) -> None:
    from urllib.parse import quote

    got = call(method, f"/{quote(path)}")
    assert good(got.status_code) or got.status_code in (301, 303, 307, 308), got.status_code
    if got.status_code >= 400 and len(path) > 6:
        assert path not in got.text


def test_a_faulty_plan_is_said_and_mended_without_a_restart(tmp_path: Path) -> None:
    home = Path(household(tmp_path / "home"))
    good_plan = (home / "care_plan.toml").read_bytes()
    server = Server("--home", str(home), "--now", NIGHT)
    try:
        with server.client() as client:
            assert client.get("/").status_code == 200
            (home / "care_plan.toml").write_text('rout = "gastrostomy"\n')
            for path in ("/", "/api/state"):
                got = client.get(path)
                assert got.status_code == 503 and "care plan" in got.text and "rout" not in got.text.replace("Wrout", "")
            (home / "care_plan.toml").write_bytes(good_plan)
            assert client.get("/").status_code == 200
    finally:
        server.stop()


def test_damaged_records_cost_no_answer(tmp_path: Path) -> None:
    home = Path(household(tmp_path / "home"))
    (home / "household.db").write_bytes(b"\x00\x01 not a database")
    server = Server("--home", str(home), "--now", NIGHT)
    try:
        with server.client() as client:
            record = Patient(client).ask("How long will 360 mL last at 72 mL/h?")
            assert record["figures"]["duration"]["value"] == 5 and "rests on the care plan" in record["text"]
            assert client.get("/api/state").json()["fault"]
            assert client.get("/").status_code == 200
    finally:
        assert "Traceback" not in server.stop()


def test_many_at_once_are_all_answered(server: Server) -> None:
    found: list[Any] = []

    def one(n: int) -> None:
        with server.client() as client:
            found.append(Patient(client).ask(f"How long will {72 * n} mL last at 72 mL/h?")["figures"]["duration"]["value"])

    threads = [threading.Thread(target=one, args=(n,)) for n in range(2, 10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(found) == list(range(2, 10))
