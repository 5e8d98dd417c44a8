"""The worker processes of a server, for tests: which there are, and a client that is answered by a certain one."""

from __future__ import annotations

import os
import signal
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import httpx
from page_server import Server

STARTS_S = 180.0


def workers(server: Server) -> list[int]:
    """The process ids of its workers, sorted."""
    assert server.process is not None
    found = []
    for entry in Path("/proc").iterdir():
        with suppress(OSError, ValueError):
            pid = int(entry.name)
            parent = int((entry / "stat").read_text().rpartition(")")[2].split()[1])
            if parent == server.process.pid and "spawn_main" in (entry / "cmdline").read_text():
                found.append(pid)
    return sorted(found)


def alive(pid: int) -> bool:
    with suppress(OSError):
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    return False


def wait_until(true: Any, seconds: float = STARTS_S) -> bool:
    ends = time.monotonic() + seconds
    while time.monotonic() < ends:
        if true():
            return True
        time.sleep(0.05)
    return False


def answering(server: Server, client: httpx.Client) -> int:
    """The worker at the other end of a client's one connection, by the system's table of sockets."""
    stream = client.get("/health").extensions["network_stream"]
    ours = f":{stream.get_extra_info('client_addr')[1]:04X}"
    lines = [line.split() for line in Path("/proc/net/tcp").read_text().splitlines()[1:]]
    sockets = {f"socket:[{line[9]}]" for line in lines if line[2].endswith(ours)}
    for pid in workers(server):
        for entry in Path(f"/proc/{pid}/fd").iterdir():
            with suppress(OSError):
                if os.readlink(entry) in sockets:
                    return pid
    raise AssertionError(f"no worker has the other end of {ours}")


@contextmanager
def standing_still(pids: list[int]) -> Iterator[None]:
    for pid in pids:
        os.kill(pid, signal.SIGSTOP)
    try:
        yield
    finally:
        for pid in pids:
            os.kill(pid, signal.SIGCONT)


def client_at(server: Server, worker: int, **more: Any) -> httpx.Client:
    """A client whose one connection this worker has taken: the others stand still meanwhile."""
    client = server.client(limits=httpx.Limits(max_connections=1, keepalive_expiry=600), **more)
    client.timeout = httpx.Timeout(STARTS_S)             # one that was just started loads its libraries first
    with standing_still([pid for pid in workers(server) if pid != worker]):
        assert client.get("/health").status_code == 200
    return client
