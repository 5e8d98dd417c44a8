"""A process that has loaded the program once and forks it for each server that a test starts.

Loading takes seconds of a processor, and the tests start some hundred servers. The fork runs the same command with
the same arguments (`assistant.cli.main`); that a command starts by itself is held by those that begin `cold`.
"""

from __future__ import annotations

import gc
import importlib
import json
import os
import select
import signal
import socket
import subprocess
import sys
import time
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import IO, Any

ROOT = Path(__file__).parent.parent
LOADED = ("assistant.cli", "assistant.channels.serve", "assistant.channels.web.app", "assistant.channels.desk.app",
          "assistant.channels.desk.command", "assistant.channels.action_server")
CAN = hasattr(os, "pidfd_open") and hasattr(signal, "pidfd_send_signal")     # Linux


class Forked:
    """What a test needs of a process: as subprocess.Popen has it."""

    def __init__(self, pid: int, stdout: IO[str]) -> None:
        self.pid, self.stdout = pid, stdout
        try:
            self._handle = os.pidfd_open(pid)
        except ProcessLookupError:
            self._handle = -1

    def send_signal(self, how: int) -> None:
        if self._handle >= 0:
            with suppress(ProcessLookupError):
                signal.pidfd_send_signal(self._handle, how)

    def terminate(self) -> None:
        self.send_signal(signal.SIGTERM)

    def kill(self) -> None:
        self.send_signal(signal.SIGKILL)

    def wait(self, timeout: float) -> None:
        if self._handle < 0:
            return
        if not select.select([self._handle], [], [], timeout)[0]:
            raise subprocess.TimeoutExpired(str(self.pid), timeout)
        os.close(self._handle)
        self._handle = -1


@cache
def _template() -> socket.socket:
    """The loaded process, by the socket that it takes orders from. It ends with this one."""
    ours, its = socket.socketpair()
    subprocess.Popen([sys.executable, __file__, str(its.fileno())], cwd=ROOT, pass_fds=[its.fileno()],
                     stdin=subprocess.DEVNULL)
    its.close()
    return ours


def start(argv: list[str], env: dict[str, str]) -> Forked:
    """Run `bagside` with these arguments in a fork."""
    template = _template()
    read, write = os.pipe()
    socket.send_fds(template, [json.dumps([argv, env]).encode() + b"\n"], [write])
    os.close(write)
    return Forked(int(template.recv(20)), os.fdopen(read, encoding="utf-8"))


def _load() -> None:
    sys.path.insert(0, str(ROOT))
    from assistant import actions
    from assistant.warm import warm

    for name in LOADED:
        importlib.import_module(name)
    warm()
    actions._loop().close()             # a fork may not share its parent's event loop
    actions._loop.cache_clear()
    gc.freeze()                         # what is loaded stays shared


def _order(orders: socket.socket) -> tuple[list[Any], int]:
    text, given, *_ = socket.recv_fds(orders, 1 << 20, 1)
    while text and not text.endswith(b"\n"):
        text += orders.recv(1 << 20)
    if not text:
        raise EOFError
    return json.loads(text), given[0]


def _fork(argv: list[str], env: dict[str, str], out: int, orders: socket.socket) -> int:
    """Its process id here; in the fork the command runs, and the process ends with it."""
    if pid := os.fork():
        os.close(out)
        return pid
    signal.signal(signal.SIGCHLD, signal.SIG_DFL)
    orders.close()
    for stream in (1, 2):
        os.dup2(out, stream)
    os.close(out)
    os.environ.clear()
    os.environ.update(env)
    time.tzset()
    from assistant.cli import main

    sys.exit(main(argv))


def _serve(orders: socket.socket) -> None:
    _load()
    signal.signal(signal.SIGCHLD, signal.SIG_IGN)       # whoever ends is gone: nobody asks how
    with suppress(EOFError):
        while True:
            [argv, env], out = _order(orders)
            orders.sendall(str(_fork(argv, env, out, orders)).encode())


if __name__ == "__main__":
    _serve(socket.socket(fileno=int(sys.argv[1])))
