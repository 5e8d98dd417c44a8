"""The helper process: started once, reached by its user only, replaced when it dies, gone by itself."""

from __future__ import annotations

import json
import os
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from conftest import DEMO, ROOT

from assistant.channels import helper

pytestmark = pytest.mark.skipif(not hasattr(socket, "AF_UNIX"), reason="no user-only sockets on this system")
CHILD = str(DEMO / "child_overnight_pump.toml")
REQUEST = {"text": "How long will 360 mL last at 72 mL/h?", "plan": CHILD, "home": None, "now": "2026-11-25T22:00",
           "as_json": True}


@contextmanager
def own_place() -> Iterator[Path]:
    """A run-time folder of its own (a short path: a socket's may hold some hundred letters); its helpers are ended."""
    with tempfile.TemporaryDirectory(prefix="bs") as folder, pytest.MonkeyPatch.context() as monkeypatch:
        monkeypatch.setenv("XDG_RUNTIME_DIR", folder)
        monkeypatch.setenv("HOME", folder)
        monkeypatch.setenv("PYTHONPATH", str(ROOT))
        monkeypatch.setenv("BAGSIDE_HELPER_IDLE", "60")
        monkeypatch.setattr(helper, "address", lambda: helper.folder() / "test.sock")   # a name known here
        yield Path(folder)
        for pid in helpers(Path(folder)):
            os.kill(pid, signal.SIGTERM)


@pytest.fixture
def place() -> Iterator[Path]:
    with own_place() as folder:
        yield folder


@pytest.fixture(scope="module")
def served() -> Iterator[Path]:
    """A place whose helper runs already, shared by the tests that leave it running: a start takes seconds."""
    with own_place() as folder:
        helper.ask(REQUEST)
        yield folder


def helpers(place: Path) -> list[int]:
    """The helper processes that serve a socket below `place`, found by their own command lines."""
    found = []
    for entry in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            words = entry.read_bytes().split(b"\0")
        except OSError:
            continue
        if b"assistant.channels.helper" in words and any(w.startswith(os.fsencode(place)) for w in words):
            found.append(int(entry.parent.name))
    return found


def until(holds: Callable[[], Any], seconds: float = 20) -> bool:
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        if holds():
            return True
        time.sleep(0.05)
    return False


def refused(sock: Path) -> bool:
    """Does nobody listen there any more?"""
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as client:
        try:
            client.connect(str(sock))
        except ConnectionRefusedError:
            return True
    return False


def duration(answered: dict[str, Any] | None) -> float:
    assert answered is not None and answered["code"] == 0, answered
    return float(json.loads(answered["out"])["figures"]["duration"]["value"])


def test_only_its_user_can_reach_it(served: Path) -> None:
    sock = served / "bagside" / "test.sock"
    assert sock.is_socket() and sock.stat().st_mode & 0o777 == 0o600
    assert sock.parent.stat().st_mode & 0o777 == 0o700
    for pid in helpers(served):                      # and it listens nowhere else
        inodes = {os.readlink(f) for f in Path(f"/proc/{pid}/fd").iterdir() if f.is_symlink() and f.exists()}
        for net in ("tcp", "tcp6", "udp", "udp6"):
            table = Path(f"/proc/net/{net}")
            rows = [row.split() for row in table.read_text().splitlines()[1:]] if table.exists() else []
            assert not {f"socket:[{row[9]}]" for row in rows} & inodes


def test_a_client_that_talks_nonsense_costs_nobody_an_answer(served: Path) -> None:
    for sent in (b"", b"\n", b"nonsense\n", b"[]\n", b'{"text": 7}\n', b"\xff\xfe\n"):
        with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as client:
            client.connect(str(served / "bagside" / "test.sock"))
            client.sendall(sent)
    assert duration(helper.ask(REQUEST)) == 5 and len(helpers(served)) == 1


def test_it_holds_nothing_between_questions(served: Path) -> None:
    helper.ask({**REQUEST, "text": "I just started the overnight feed at 72 mL/h"})
    answered = helper.ask({**REQUEST, "text": "How much has she had so far?", "now": "2026-11-25T23:00"})
    assert answered is not None and not json.loads(answered["out"])["figures"]


def test_the_first_call_starts_it_and_the_second_is_served(place: Path) -> None:
    assert not helpers(place)
    assert duration(helper.ask(REQUEST)) == 5       # 360 / 72
    first = helpers(place)
    started = time.monotonic()
    assert duration(helper.ask(REQUEST)) == 5
    assert helpers(place) == first and len(first) == 1
    assert time.monotonic() - started < 5           # no second load of everything


def test_two_at_once_leave_one(place: Path) -> None:
    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(helper.ask, [REQUEST] * 4))
    assert [duration(a) for a in answers] == [5] * 4
    assert until(lambda: len(helpers(place)) == 1), helpers(place)


def test_a_killed_one_is_replaced_and_its_socket_does_no_harm(place: Path) -> None:
    helper.ask(REQUEST)
    (old,) = helpers(place)
    os.kill(old, signal.SIGKILL)
    assert until(lambda: refused(place / "bagside" / "test.sock"))
    assert (place / "bagside" / "test.sock").exists()       # left behind: stale
    assert duration(helper.ask(REQUEST)) == 5
    assert [pid for pid in helpers(place) if pid != old]


def test_a_file_in_the_sockets_place_does_no_harm(place: Path) -> None:
    (helper.folder() / "test.sock").write_text("no socket")
    assert duration(helper.ask(REQUEST)) == 5


def test_it_ends_by_itself(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BAGSIDE_HELPER_IDLE", "0.5")
    assert duration(helper.ask(REQUEST)) == 5
    sock = place / "bagside" / "test.sock"
    assert until(lambda: not sock.exists())


def test_a_folder_that_others_can_reach_is_refused(place: Path) -> None:
    (place / "bagside").mkdir(mode=0o755)
    (place / "bagside").chmod(0o755)
    with pytest.raises(OSError, match="reached by others"):
        helper.folder()
    assert helper.ask(REQUEST) is None and not helpers(place)


def test_a_folder_of_another_user_is_refused(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (place / "bagside").mkdir(mode=0o700)
    monkeypatch.setattr(os, "getuid", lambda: 4242424)
    with pytest.raises(OSError, match="reached by others"):
        helper.folder()
    assert helper.ask(REQUEST) is None


@pytest.mark.parametrize("setting", ["off", "on"])
def test_the_command_answers_the_same_with_and_without(setting: str, place: Path) -> None:
    args = ["ask", "--plan", CHILD, "--now", "2026-11-25T22:00", "--json", str(REQUEST["text"])]
    done = subprocess.run([sys.executable, "-m", "assistant.cli", *args], capture_output=True, text=True, timeout=120,
                          cwd=ROOT, env={**os.environ, "BAGSIDE_HELPER": setting}, check=False)
    assert done.returncode == 0 and json.loads(done.stdout)["figures"]["duration"]["value"] == 5
    assert (len(helpers(place)) == 1) == (setting == "on")
