"""One household answered by several processes: nothing is lost or doubled, a worker that dies is replaced."""

from __future__ import annotations

import json
import os
import re
import signal
import threading
from collections.abc import Iterator
from contextlib import closing, suppress
from pathlib import Path
from typing import Any

import httpx
import pytest
from page_server import Patient, Server, served
from worker_processes import client_at, wait_until, workers

from assistant.household.home import Home

ASKED = "how long will it last at 60 mL/h?"              # asked back: how much? 300 mL at 60 mL/h are 5 h
PHONE = {"x-forwarded-for": "192.0.2.7"}                 # handed on by another program: not this computer


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("workers")


@pytest.fixture(scope="module")
def server(folder: Path) -> Iterator[Server]:
    made = served(folder, "--workers", "2", "--lan", "--host", "127.0.0.1", running=False)
    yield made
    assert "Traceback" not in made.stop()


@pytest.fixture
def two(server: Server) -> Iterator[tuple[Patient, Patient]]:
    """A client at each of the two workers."""
    assert wait_until(lambda: len(workers(server)) == 2)
    one, other = (client_at(server, pid) for pid in workers(server))
    yield Patient(one), Patient(other)
    one.close()
    other.close()


def flushes(folder: Path) -> list[int]:
    store = Home(folder / "home").store()
    found = sorted(int(e.volume.magnitude) for e in store.events(kind="flushed") if e.volume is not None)
    store.close()
    return found


def test_a_follow_up_reaches_the_other_worker(two: tuple[Patient, Patient]) -> None:
    for name, first, second in (("one", *two), ("other", *two[::-1])):
        for call in two:
            call.client.cookies.set("bagside_talk", f"conversation-{name}")
        assert first.ask(ASKED)["outcome"] == "asked_back"
        assert "5 h" in second.ask("300 mL")["text"]
        assert "300" in first.ask("why?")["text"]


def test_a_message_sent_again_to_the_other_worker_is_written_once(two: tuple[Patient, Patient], folder: Path) -> None:
    first = two[0].ask("flushed with 11 mL", request="again-1")
    assert first["outcome"] == "done" and two[1].ask("flushed with 11 mL", request="again-1") == first
    assert flushes(folder).count(11) == 1


def test_two_clients_at_once_lose_and_double_nothing(two: tuple[Patient, Patient], folder: Path) -> None:
    """One conversation, one log, two processes: every flush told is there once, and each was told what it did."""
    faults: list[object] = []

    def tell(call: Patient, amounts: range) -> None:
        for amount in amounts:
            told = call.ask(f"flushed with {amount} mL", request=f"at-once-{amount}")
            if told["outcome"] != "done" or f"flush of {amount} mL" not in told["text"]:
                faults.append(told)

    threads = [threading.Thread(target=tell, args=(call, range(start, start + 12)))
               for call, start in zip(two, (26, 62), strict=True)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not faults
    assert [a for a in flushes(folder) if 26 <= a < 76] == [*range(26, 38), *range(62, 74)]


def due(stream: Iterator[str]) -> list[Any]:
    """The next list of due reminders that a page is told of."""
    for line in stream:
        if line == "event: reminders":
            return list(json.loads(next(stream).removeprefix("data: ")))
    raise AssertionError("the stream ended")


def test_a_reminder_rings_on_every_screen_and_is_seen_once(server: Server, two: tuple[Patient, Patient]) -> None:
    pages = [client_at(server, pid) for pid in workers(server)]
    with pages[0].stream("GET", "/api/events") as one, pages[1].stream("GET", "/api/events") as other:
        streams = [one.iter_lines(), other.iter_lines()]
        assert [due(stream) for stream in streams] == [[], []]
        assert two[0].ask("remind me in 1 second to turn the pump")["outcome"] == "done"
        rings = [due(stream) for stream in streams]
        assert rings[0] == rings[1] and len(rings[0]) == 1           # told by one worker, rung by both, each once
        number, seen = rings[0][0]["id"], []
        both = threading.Barrier(2)

        def look(call: Patient) -> None:
            both.wait()
            seen.append(call("POST", "/api/seen", json={"id": number}).json()["seen"])

        threads = [threading.Thread(target=look, args=(call,)) for call in two]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        assert sorted(seen) == [False, True]
        assert [due(stream) for stream in streams] == [[], []]
    for page in pages:
        page.close()


def test_pairing_in_one_worker_counts_in_the_other(server: Server, two: tuple[Patient, Patient]) -> None:
    """Wrong tries at either count together, until ten lock it; a code works once, a token at both, until unpaired."""
    code = re.findall(r"(?<!\d)\d{8}(?!\d)", "".join(server.said))[-1]
    origin = {"origin": server.address, **PHONE}
    form = {"headers": origin, "data": {"code": "00000000"}}
    for n in range(6):
        assert two[n % 2]("POST", "/pair", **form).status_code == 403
    done = two[0]("POST", "/pair", headers=origin, data={"code": code})
    assert done.status_code == 303
    for call in two:
        call.client.cookies.clear()
    assert two[1]("POST", "/pair", headers=origin, data={"code": code}).status_code == 403
    cookie = {"cookie": f"bagside_paired={done.cookies['bagside_paired']}", **PHONE}
    assert two[1]("GET", "/api/state", headers=PHONE).status_code == 401
    assert two[1]("GET", "/api/state", headers=cookie).status_code == 200
    assert two[1]("POST", "/unpair", headers={"origin": server.address}, data={"number": "1"}).status_code == 303
    assert two[0]("GET", "/api/state", headers=cookie).status_code == 401


def test_wrong_tries_at_either_worker_lock_it(folder: Path, server: Server, two: tuple[Patient, Patient]) -> None:
    from assistant.channels.web.pairing import TRIES, Pairing

    code = Pairing(folder / "home").new_code()           # as Enter at the terminal gives
    wrong, origin = f"{(int(code) + 1) % 10**8:08}", {"origin": server.address, **PHONE}
    for n in range(TRIES):
        two[n % 2]("POST", "/pair", headers=origin, data={"code": wrong})
    for call in two:
        assert call("POST", "/pair", headers=origin, data={"code": code}).status_code == 403


def test_a_worker_killed_in_mid_conversation_costs_nothing(server: Server, folder: Path) -> None:
    first, second = workers(server)
    talk = {"cookies": {"bagside_talk": "conversation-that-goes-on"}}
    with closing(client_at(server, first, **talk)) as one:
        Patient(one).ask("flushed with 50 mL", request="killed-1")
        Patient(one).ask(ASKED)
    os.kill(first, signal.SIGKILL)
    with closing(client_at(server, second, **talk)) as other:
        assert "5 h" in Patient(other).ask("300 mL")["text"]
        assert Patient(other).ask("flushed with 50 mL", request="killed-1")["outcome"] == "done"
    assert flushes(folder).count(50) == 1
    assert wait_until(lambda: len(workers(server)) == 2 and first not in workers(server))
    assert f"worker {first} ended (-9)" in (folder / "home" / "serve.log").read_text()
    third = next(pid for pid in workers(server) if pid != second)
    with closing(client_at(server, third, **talk)) as new:
        assert "300" in Patient(new).ask("why?")["text"]


def test_killed_while_it_answers_all_that_was_acknowledged_is_there(server: Server, folder: Path) -> None:
    """A worker dies under its client again and again; sent again to the other, each flush is there once."""
    told = []
    for amount in range(76, 80):
        assert wait_until(lambda: len(workers(server)) == 2)
        victim, other = workers(server)
        with closing(client_at(server, victim)) as one, closing(client_at(server, other)) as two:
            sent = {"text": f"flushed with {amount} mL", "request": f"dies-{amount}"}
            killer = threading.Timer(0.006 * (amount - 76), os.kill, (victim, signal.SIGKILL))
            killer.start()
            with suppress(httpx.HTTPError):
                one.post("/api/ask", json=sent)
            killer.join()
            assert Patient(two).ask(sent["text"], request=sent["request"])["outcome"] == "done"
            told.append(amount)
    assert [a for a in flushes(folder) if a >= 76] == told


def test_what_the_log_says_of_the_workers(server: Server, folder: Path) -> None:
    """Each that was killed stands there in a line; nothing else went wrong."""
    lines = (folder / "home" / "serve.log").read_text().splitlines()
    assert all("ended (-9)" in line for line in lines), lines
    assert "flushed" not in "\n".join(lines)
