"""A small process that keeps the assistant warm, so that one question is answered at once.

The first `bagside ask` starts it; it listens on a socket that only this user can reach, answers one question a
connection, and ends by itself after a while without any. It holds no household data between questions.
"""

from __future__ import annotations

import hashlib
import json
import os
import socket
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

IDLE_S = 600  # seconds without a question after which it ends
START_S = 30  # seconds a client waits for it to come up
LARGEST = 1_000_000  # bytes of one request


def folder() -> Path:
    """The user's own folder for the socket; made for this user only."""
    base = os.environ.get("XDG_RUNTIME_DIR") or os.path.join(
        os.environ.get("XDG_CACHE_HOME") or os.path.expanduser("~/.cache")
    )
    path = Path(base) / "bagside"
    path.mkdir(mode=0o700, parents=True, exist_ok=True)
    if path.stat().st_uid != os.getuid() or path.stat().st_mode & 0o077:
        raise OSError(f"{path} can be reached by others")
    return path


def address() -> Path:
    """The socket of this very program: another version, or a changed file, has another."""
    root = Path(__file__).resolve().parents[2]
    changed = max(
        (
            e.stat().st_mtime_ns
            for top in ("assistant", "rules", "knowledge")
            for d, _, _ in os.walk(root / top)
            for e in os.scandir(d)
            if e.name.endswith((".py", ".toml", ".tsv", ".gz"))
        ),
        default=0,
    )
    name = hashlib.sha256(f"{root}:{changed}:{sys.prefix}".encode()).hexdigest()[:16]
    return folder() / f"{name}.sock"


def ask(request: dict[str, Any]) -> dict[str, Any] | None:
    """The helper's answer; None where there is no helper and none could be started (then answer in this process)."""
    try:
        path = address()
        return _send(path, request) or _start_and_send(path, request)
    except (OSError, ValueError):
        return None


def _send(path: Path, request: dict[str, Any]) -> dict[str, Any] | None:
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as client:
        try:
            client.connect(str(path))
        except (FileNotFoundError, ConnectionRefusedError):
            return None
        client.sendall(json.dumps(request).encode() + b"\n")
        with client.makefile("rb") as answer:
            found: dict[str, Any] = json.loads(answer.read())
            return found


def _start_and_send(path: Path, request: dict[str, Any]) -> dict[str, Any] | None:
    with (path.parent / f"{path.stem}.log").open("ab") as log:
        subprocess.Popen(
            [sys.executable, "-m", "assistant.channels.helper", str(path)],
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            start_new_session=True,
            cwd="/",
            close_fds=True,
        )
    ends = time.monotonic() + START_S
    while time.monotonic() < ends:
        answered = _send(path, request)
        if answered is not None:
            return answered
        time.sleep(0.05)
    return None


def serve(path: Path) -> None:
    """Answer until idle. Two that start at once: one holds the lock, the other ends."""
    import fcntl

    lock = (path.parent / f"{path.stem}.lock").open("w")
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return
    from assistant.channels.ask import answer_once
    from assistant.warm import warm

    warm()
    path.unlink(missing_ok=True)
    with socket.socket(socket.AF_UNIX, socket.SOCK_STREAM) as server:
        old = os.umask(0o177)
        server.bind(str(path))
        os.umask(old)
        server.listen(8)
        server.settimeout(_idle())
        try:
            while True:
                connection, _ = server.accept()
                with connection:
                    _answer(connection, answer_once)
        except TimeoutError:
            pass
        finally:
            path.unlink(missing_ok=True)


def _idle() -> float:
    """Seconds without a question after which it ends; BAGSIDE_HELPER_IDLE may say another number (tests do)."""
    try:
        return max(float(os.environ.get("BAGSIDE_HELPER_IDLE", IDLE_S)), 0.1)
    except ValueError:
        return float(IDLE_S)


def _answer(connection: socket.socket, answer_once: Any) -> None:
    connection.settimeout(10)
    try:
        with connection.makefile("rb") as lines:
            request = json.loads(lines.readline(LARGEST))
        code, out, err = answer_once(**request)
        connection.sendall(json.dumps({"code": code, "out": out, "err": err}).encode())
    except (OSError, ValueError, TypeError):
        return  # a client that went away, or spoke another tongue, costs nobody else an answer


if __name__ == "__main__":
    serve(Path(sys.argv[1]))
