"""How the processes of one server begin and end, and what is counted over all of them."""

from __future__ import annotations

import multiprocessing
import signal
import socket
from pathlib import Path
from typing import Any

import pytest
from page_server import household, served
from worker_processes import alive, wait_until, workers

from assistant.channels.serve import main as serve
from assistant.channels.web.guard import Rate


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT, signal.SIGKILL])
def test_with_the_server_all_its_workers_end(tmp_path: Path, how: signal.Signals) -> None:
    made = served(tmp_path, "--workers", "2", running=False)
    assert made.process is not None
    mine, process = workers(made), made.process
    assert len(mine) == 2
    process.send_signal(how)
    process.wait(timeout=60)
    assert wait_until(lambda: not any(alive(pid) for pid in mine))
    assert "Traceback" not in "".join(made.said)
    with socket.socket() as door:
        door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        door.bind(("127.0.0.1", made.port))               # the door is free again


def test_workers_that_cannot_begin_are_given_up(tmp_path: Path, capsys: pytest.CaptureFixture[str],
                                                monkeypatch: pytest.MonkeyPatch) -> None:
    home = household(tmp_path / "home")
    monkeypatch.setattr("assistant.channels.serve.app_of", broken)
    assert serve(["--home", home, "--port", "0", "--workers", "2"]) == 2
    assert "end before they can answer" in capsys.readouterr().err


def broken(*_: Any) -> None:
    raise SystemExit(3)


@pytest.mark.parametrize(("more", "says"), [(["--workers", "0"], "from 1 to"), (["--workers", "65"], "from 1 to")])
def test_a_number_that_is_none_of_workers(tmp_path: Path, more: list[str], says: str,
                                          capsys: pytest.CaptureFixture[str]) -> None:
    assert serve(["--home", str(tmp_path / "home"), "--port", "0", *more]) == 2
    assert says in capsys.readouterr().err


def test_without_records_one_worker_serves(capsys: pytest.CaptureFixture[str]) -> None:
    plan = str(Path(__file__).parent.parent / "demo" / "child_overnight_pump.toml")
    assert serve(["--plan", plan, "--port", "0", "--workers", "2"]) == 2
    assert "needs a --home" in capsys.readouterr().err


def counted(rate: Rate, found: Any) -> None:
    found.put(sum(rate.allows("192.0.2.7") for _ in range(4)))


def test_the_rate_is_counted_over_all_processes() -> None:
    """Seven at once from one address, whichever process it reaches: 4 here and 3 of 4 there, then none."""
    context = multiprocessing.get_context("spawn")
    rate, found = Rate(a_second=1e-6, burst=7, shared=True), context.Queue()
    allowed = []
    for _ in range(3):
        process = context.Process(target=counted, args=(rate, found))
        process.start()
        allowed.append(found.get(timeout=60))
        process.join()
    assert allowed == [4, 3, 0] and rate.allows("192.0.2.8")
