"""The program's servers as people start them (`bagside serve`, `desk`, `actions`), each a process, for their tests."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import threading
import time
from pathlib import Path
from typing import Any

import httpx
import warm_server
from conftest import ROOT

STARTS_S = 180.0  # a machine that is busy with other things


class Server:
    """`bagside serve` on a free port. After `stop()`, `begin()` starts it anew at the same address.

    It is forked from a process that has loaded the program (`warm_server`); with several workers, or `cold`, it begins
    as it does for people.
    """

    def __init__(self, *args: str, command: str = "serve", cold: bool = False) -> None:
        self.args, self.port, self.command = args, 0, command
        self.cold = cold or "--workers" in args or not warm_server.CAN
        self.said: list[str] = []
        self.process: subprocess.Popen[str] | warm_server.Forked | None = None
        self.begin()

    def begin(self) -> None:
        argv, env = [self.command, "--port", str(self.port), *self.args], {**os.environ, "BAGSIDE_HELPER": "off"}
        self.process = warm_server.start(argv, env) if not self.cold else subprocess.Popen(
            [sys.executable, "-m", "assistant.cli", *argv], cwd=ROOT, text=True, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, env=env)
        self.said = []
        threading.Thread(target=self._read, args=(self.process,), daemon=True).start()
        found = self.wait_for(r"https?://127\.0\.0\.1:(\d+)/")
        self.port = int(found.group(1))

    def wait_for(self, pattern: str) -> re.Match[str]:
        """Read on until the terminal shows this."""
        ends = time.monotonic() + STARTS_S
        while time.monotonic() < ends and self.process is not None:
            if (found := re.search(pattern, "".join(self.said))) is not None:
                return found
            time.sleep(0.05)
        raise AssertionError(f"the server did not say {pattern}: {''.join(self.said)}")

    def stop(self, kill: bool = False) -> str:
        """End it; all that it said."""
        if self.process is None:
            return "".join(self.said)
        (self.process.kill if kill else self.process.terminate)()
        self.process.wait(timeout=30)
        self.process = None
        return "".join(self.said)

    def _read(self, process: subprocess.Popen[str] | warm_server.Forked) -> None:
        assert process.stdout is not None
        with process.stdout:
            for line in process.stdout:
                self.said.append(line)

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def client(self, **more: Any) -> httpx.Client:
        return httpx.Client(base_url=self.address, timeout=30, trust_env=False, **more)


class Patient:
    """A client that waits a moment where it was told that this was too much at once."""

    def __init__(self, client: httpx.Client) -> None:
        self.client = client

    def __call__(self, method: str, path: str, **more: Any) -> httpx.Response:
        for _ in range(100):
            got = self.client.request(method, path, **more)
            if got.status_code != 429:
                return got
            time.sleep(0.2)
        raise AssertionError("refused for too long")

    def ask(self, text: str, **more: Any) -> dict[str, Any]:
        got = self("POST", "/api/ask", json={"text": text, **more})
        assert got.status_code == 200, got.text
        found: dict[str, Any] = got.json()
        return found


NIGHT = "2026-11-26T02:10"
STARTED = "the overnight feed started at 20:45 yesterday"


def household(folder: Path, plan: str = "child_overnight_pump.toml") -> str:
    """A home with a plan of the demo in use; its folder."""
    from assistant.household.home import open_home, use_plan

    use_plan(open_home(folder), ROOT / "demo" / plan)
    return str(folder)


def served(folder: Path, *more: str, now: str = NIGHT, running: bool = True) -> Server:
    """A household's server; the overnight feed has run since 20:45 unless said otherwise."""
    server = Server("--home", household(folder / "home"), "--now", now, *more)
    if running:
        with server.client() as client:
            assert Patient(client).ask(STARTED)["outcome"] == "done"
    return server
