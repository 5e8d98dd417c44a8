"""The door for a Rasa front end: the written files agree with what is served, and a conversation replays over HTTP.

Requests have the shape that rasa-sdk documents for its action server (next_action, sender_id, tracker with slots,
latest_message and events, domain, version; answers: events, responses). A Rasa server itself is not run here.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import httpx
import pytest
from conftest import DEMO, ROOT
from page_server import Server

from assistant.cli import main
from assistant.household.home import Home, open_home, use_plan
from assistant.night import Night
from assistant.wording import asking

ruamel = pytest.importorskip("ruamel.yaml", reason="ruamel.yaml comes with rasa-sdk")
TURNS = json.loads((ROOT / "tests" / "rasa" / "conversation.json").read_text(encoding="utf-8"))
NAMES = ("domain.yml", "nlu.yml", "rules.yml")
Capture = pytest.CaptureFixture[str]


class Actions(Server):
    """`bagside actions`."""

    def __init__(self, *args: str) -> None:
        super().__init__(*args, command="actions")


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("rasa")
    assert main(["export", "--rasa", str(folder)]) == 0
    read = ruamel.YAML(typ="safe")
    return {name: read.load((folder / name).read_text(encoding="utf-8")) for name in NAMES}


@pytest.fixture
def two(records: Home) -> Iterator[list[Actions]]:
    """Two servers over one household's records, as behind a balancer."""
    made = [Actions("--home", str(records.folder), "--now", "2026-11-25T20:45") for _ in range(2)]
    yield made
    for server in made:
        assert "Traceback" not in server.stop()


@pytest.fixture(scope="module")
def one(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Actions]:
    """A server for what writes nothing."""
    home = open_home(tmp_path_factory.mktemp("home"))
    use_plan(home, DEMO / "child_overnight_pump.toml")
    server = Actions("--home", str(home.folder), "--now", "2026-11-25T20:45")
    yield server
    assert "Traceback" not in server.stop()


def call(text: str, action: str, talk: Any = None, message: str | None = None) -> dict[str, Any]:
    user = {"event": "user", "text": text, **({"message_id": message} if message else {})}
    return {"next_action": action, "sender_id": "anna", "version": "3.15.0", "domain": {"intents": []},
            "tracker": {"sender_id": "anna", "slots": {"talk": talk}, "events": [{"event": "action"}, user],
                        "latest_message": {"text": text, "intent": {"name": "guess"}, "entities": []},
                        "paused": False, "followup_action": None, "active_loop": {}, "latest_action_name": None}}


def test_the_recorded_conversation_replays_over_two_servers_in_turn(two: list[Actions], records: Home) -> None:
    """The conversation is nowhere but in the tracker: each message goes to the other server."""
    talk: Any = None
    for n, turn in enumerate(TURNS):
        action = turn.get("action", f"action_{turn['hears']}")
        sent = two[n % 2].client().post("/webhook", json=call(turn["says"], action, talk, f"m{n}"))
        assert sent.status_code == 200, sent.text
        [response], [event] = sent.json()["responses"], sent.json()["events"]
        record = response["custom"]
        assert record["outcome"] == turn["outcome"] and record["level"] == turn.get("level", record["level"]), record
        assert response["text"].startswith(record["text"]) and all(part in record["text"] for part in turn["holds"])
        assert (event["event"], event["name"]) == ("slot", "talk")
        talk = event["value"]
    assert [entry.kind for entry in records.store().events()] == ["feed_started", "flushed"]


def test_a_message_sent_again_is_written_down_once(two: list[Actions], records: Home) -> None:
    sent = call("flushed with 20 ml just now", "action_log_flush", None, "m1")
    replies = [server.client().post("/webhook", json=sent).json()["responses"] for server in two]
    assert replies[0] == replies[1] and len(records.store().events()) == 1


def test_what_is_no_call_gets_one_sentence_and_nothing_back(one: Actions) -> None:
    client, good = one.client(), call("hello", "action_greet")
    secretly = "zzsecretzz"
    tried = [
        (client.post("/webhook", json={**good, "next_action": f"action_{secretly}"}), 404),
        (client.post("/webhook", json={**good, "next_action": [secretly]}), 500),
        (client.post("/webhook", json={"next_action": "action_greet", "tracker": secretly}), 400),
        (client.post("/webhook", json=[secretly]), 400),
        (client.post("/webhook", content=b"{" + secretly.encode(), headers={"content-type": "application/json"}), 400),
        (client.post("/webhook", content=b"[" * 100_000, headers={"content-type": "application/json"}), 400),
        (client.post("/webhook", content=json.dumps(good), headers={"content-type": "text/plain"}), 403),
        (client.post("/webhook", json=good, headers={"origin": "http://evil.example"}), 403),
        (client.post("/webhook", json=good, headers={"host": "evil.example"}), 403),
        (client.post("/webhook", content=b"x" * 5_000_000, headers={"content-type": "application/json"}), 413),
        (client.get(f"/{secretly}"), 404),
    ]
    for answer, status in tried:
        assert answer.status_code in ({status} if status != 400 else {400, 500}), answer.text
        assert set(answer.json()) == {"error", "text"} and secretly not in answer.text


@pytest.mark.parametrize("tracker", [
    {}, {"latest_message": None}, {"latest_message": {"text": 7}}, {"slots": {"talk": "no"}},
    {"slots": {"talk": {"question": 1}}, "latest_message": {"text": "how long does 360 mL last at 72 mL/h?"}},
    {"events": "none", "latest_message": {"text": "she can't breathe"}},
])
def test_a_broken_tracker_is_answered_in_words(tracker: dict[str, Any], one: Actions) -> None:
    sent = one.client().post("/webhook", json={"next_action": "action_help", "tracker": tracker})
    assert sent.status_code == 200 and sent.json()["responses"][0]["text"].strip()


def test_the_sentence_for_a_fault_is_known_again() -> None:
    night = Night(None, datetime(2026, 11, 25, tzinfo=UTC))
    assert asking.is_fault(asking.fault("x", night)) and not asking.is_fault(asking.unclear([], night))


@pytest.mark.parametrize("changed", [{"question": 1}, None, {"slots": [1]}, {"answer": 7, "last": 7}, {"danger": 7},
                                     {"guide": {"name": "no such"}}, {"at": "never"}, {"earlier": 7}])
def test_a_conversation_that_cannot_be_read_does_not_silence_a_danger(changed: Any, one: Actions) -> None:
    whole = one.client().post("/webhook", json=call("thanks", "action_thanks")).json()["events"][0]["value"]
    talk = {"no": "talk"} if changed is None else {**whole, **changed}
    sent = one.client().post("/webhook", json=call("she can't breathe", "action_help", talk, f"m-{changed}"))
    assert sent.json()["responses"][0]["custom"]["level"] == "emergency"


def test_a_plan_that_cannot_be_read_any_more_is_said_and_danger_is_heard(two: list[Actions], records: Home) -> None:
    records.plan_path.write_text("route = 7\n")
    reply = two[1].client().post("/webhook", json=call("she can't breathe", "action_help")).json()["responses"][0]
    assert reply["custom"]["level"] == "emergency" and "cannot be read any more" in reply["text"]


def test_it_listens_on_this_computer_alone(one: Actions, records: Home, capsys: Capture,
                                           monkeypatch: pytest.MonkeyPatch) -> None:
    with pytest.raises(httpx.HTTPError):
        httpx.get(f"http://127.0.0.2:{one.port}/health", timeout=2, trust_env=False)
    monkeypatch.delenv("BAGSIDE_ACTION_TOKEN", raising=False)
    for token in ("", "short"):
        monkeypatch.setenv("BAGSIDE_ACTION_TOKEN", token)
        assert main(["actions", "--host", "0.0.0.0", "--port", "0", "--home", str(records.folder)]) == 2
        assert "BAGSIDE_ACTION_TOKEN" in capsys.readouterr().err


def test_with_a_secret_only_who_knows_it_is_answered(records: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BAGSIDE_ACTION_TOKEN", "a-long-shared-secret")
    server = Actions("--home", str(records.folder))
    try:
        client = server.client()
        assert client.get("/actions").status_code == client.get("/actions?token=wrong").status_code == 403
        assert client.get("/actions?token=a-long-shared-secret").status_code == 200
    finally:
        assert "Traceback" not in server.stop()


def test_every_rule_leads_from_a_known_intent_to_a_served_action(files: dict[str, Any], one: Actions) -> None:
    domain, nlu, rules = (files[name] for name in NAMES)
    served = {entry["name"] for entry in one.client().get("/actions").json()}
    assert set(domain["actions"]) == served
    steps = {rule["steps"][0]["intent"]: rule["steps"][1]["action"] for rule in rules["rules"]}
    assert len(steps) == len(rules["rules"]) and set(steps.values()) <= served
    assert set(steps) == {*domain["intents"], "nlu_fallback"}
    assert {entry["intent"] for entry in nlu["nlu"]} == set(domain["intents"])
    assert domain["slots"]["talk"] == {"type": "any", "influence_conversation": False,
                                       "mappings": [{"type": "custom"}]}
    assert {file["version"] for file in files.values()} == {"3.1"}


def test_the_examples_are_the_phrases(files: dict[str, Any]) -> None:
    """Each phrase stands under its own intent, as it was written; nothing in it is markup."""
    phrases = {(entry["intent"], " ".join(entry["text"].split()))
               for file in sorted((ROOT / "knowledge" / "phrases").glob("*.jsonl"))
               for entry in map(json.loads, file.read_text(encoding="utf-8").splitlines())}
    found = {(entry["intent"], line.removeprefix("- ")) for entry in files["nlu.yml"]["nlu"]
             for line in entry["examples"].splitlines()}
    assert found <= phrases and len(phrases - found) < 10
    assert all(re.search(r"[\[\]\\]", text) or not text.isprintable() for _, text in phrases - found)


def test_files_of_others_are_left_alone(tmp_path: Path, capsys: Capture) -> None:
    (tmp_path / "nlu.yml").write_text("mine")
    assert main(["export", "--rasa", str(tmp_path)]) == 2
    assert (tmp_path / "nlu.yml").read_text() == "mine" and [p.name for p in tmp_path.iterdir()] == ["nlu.yml"]
    assert "left as it is" in capsys.readouterr().err
    (tmp_path / "nlu.yml").unlink()
    assert main(["export", "--rasa", str(tmp_path)]) == main(["export", "--rasa", str(tmp_path)]) == 0
    assert main(["export", "--rasa", str(tmp_path / "nlu.yml")]) == 2
