"""Answering needs no network: with every way to the internet shut, the answers are the same."""

from __future__ import annotations

import socket
import subprocess
import sys
from typing import Any

import pytest
from conftest import DEMO, ROOT
from test_conversations import CASES, play

SHUT = """
import socket, sys
def shut(*_, **__):
    raise OSError("no network here")
socket.create_connection = socket.getaddrinfo = socket.gethostbyname = shut
class Closed(socket.socket):
    def connect(self, address):
        if self.family != socket.AF_UNIX:
            shut()
        return super().connect(address)
    connect_ex = connect
socket.socket = Closed
from assistant.cli import main
sys.exit(main(sys.argv[1:]))
"""


@pytest.fixture
def no_network(monkeypatch: pytest.MonkeyPatch) -> list[Any]:
    """Every way out fails, and is written down."""
    tried: list[Any] = []
    real = socket.socket.connect

    def refuse(*where: Any, **_: Any) -> None:
        tried.append(where)
        raise OSError("no network here")

    def connect(self: socket.socket, address: Any) -> None:
        if self.family in (socket.AF_INET, socket.AF_INET6):
            refuse(address)
        real(self, address)

    monkeypatch.setattr(socket.socket, "connect", connect)
    for name in ("create_connection", "getaddrinfo", "gethostbyname"):
        monkeypatch.setattr(socket, name, refuse)
    return tried


def test_conversations_go_on_without_a_network(no_network: list[Any]) -> None:
    for case in CASES[::5]:
        for one in play(case):
            assert one.record["text"] and "Something went wrong" not in one.record["text"]
    assert not no_network


@pytest.mark.parametrize("args", [
    ["ask", "--plan", str(DEMO / "child_overnight_pump.toml"), "--now", "2026-11-25T22:00",
     "How long will 360 mL last at 72 mL/h?"],
    ["plan", "check", str(DEMO / "infant_powder.toml")],
    ["cards", "tube"],
])
def test_a_cold_start_needs_no_network(args: list[str]) -> None:
    done = subprocess.run([sys.executable, "-c", SHUT, *args], capture_output=True, text=True, timeout=120, cwd=ROOT,
                          check=False)
    assert done.returncode == 0 and done.stdout and "Traceback" not in done.stderr, done
