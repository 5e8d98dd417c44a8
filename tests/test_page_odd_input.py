"""Whatever is sent to the page's server: no fault of ours, one clear sentence, nothing of it said back."""

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


FORMS = st.sampled_from(["/ask", "/opened", "/seen", "/colours", "/pair", "/unpair"])
FIELDS = st.dictionaries(st.sampled_from(["text", "card", "id", "colours", "back", "code", "number", "request"]),
                         st.text(max_size=80) | st.integers().map(str) | st.just("choking"), max_size=4)


@FEW
@given(path=FORMS, fields=FIELDS)
def test_any_form_is_answered_or_refused(server: Server, call: Patient, path: str, fields: dict[str, str]) -> None:
    got = call("POST", path, data=fields, headers={"origin": server.address})
    assert good(got.status_code) or got.status_code == 303, got.text
    if got.status_code >= 400:
        assert not any(len(value) > 20 and value in got.text for value in fields.values())


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
                assert got.status_code == 503 and "care plan" in got.text and "gastrostomy" not in got.text
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
            record = Patient(client).ask(f"How long will {72 * n} mL last at 72 mL/h?")
            found.append(record["figures"]["duration"]["value"])

    threads = [threading.Thread(target=one, args=(n,)) for n in range(2, 10)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(found) == list(range(2, 10))
