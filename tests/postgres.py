"""A throwaway PostgreSQL (Debian's, 15 or later) in a temporary folder, for tests and measurements.

    python tests/postgres.py          # starts one, prints its address, and ends it at Ctrl-C

Root may not run a database, so for root it runs as Debian's user `postgres`. It listens at a free port of this computer
alone, with a password of its own; nothing of the system's own clusters is touched.
"""

from __future__ import annotations

import contextlib
import os
import pwd
import secrets
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from pathlib import Path

STARTS_S = 60.0
MEMORY = "/dev/shm"  # a crash of the database is tested, not one of the computer


def programs() -> Path | None:
    """Where `initdb` and `postgres` lie; the newest version of Debian's, else what the path has; None: nowhere."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: int(p.parts[-3]))
    if found:
        return found[-1].parent
    named = shutil.which("initdb")
    return Path(named).resolve().parent if named else None


def missing() -> str:
    """What is missing to start one; empty where nothing is."""
    if programs() is None:
        return "no PostgreSQL here (Debian: apt-get install postgresql)"
    if os.geteuid() == 0:
        try:
            pwd.getpwnam("postgres")
        except KeyError:
            return "root may not run PostgreSQL, and there is no user `postgres`"
    try:
        import psycopg  # noqa: F401
    except ImportError:
        return "psycopg is not installed (the extra `postgres`)"
    return ""


class Cluster:
    """One database server, its files below `place` (None: in memory where the system has such a folder).

    `listens`: its address; `within`: the beginning of a command that runs a program on the computer of that address.
    """

    def __init__(self, place: str | None = None, listens: str = "127.0.0.1", within: tuple[str, ...] = ()) -> None:
        found = programs()
        assert found is not None
        place = place or (MEMORY if os.access(MEMORY, os.W_OK) else None)
        self._bin, self._password = found, secrets.token_hex(12)
        self.folder = Path(tempfile.mkdtemp(prefix="bagside-pg-", dir=place))
        self._listens, self._within = listens, list(within)
        self._as = ["setpriv", "--reuid=postgres", "--regid=postgres", "--init-groups"] if os.geteuid() == 0 else []
        if self._as:
            shutil.chown(self.folder, "postgres", "postgres")
        secret = self.folder / "password"
        secret.write_text(self._password)
        if self._as:
            shutil.chown(secret, "postgres")
        self._run("initdb", "-D", str(self.folder / "data"), "-U", "desk", "-E", "UTF8", "--locale=C.UTF-8",
                  "-A", "scram-sha-256", "--pwfile", str(secret), "--no-sync")
        if listens != "127.0.0.1":
            with (self.folder / "data" / "pg_hba.conf").open("a") as who:
                who.write(f"host all all {listens}/24 scram-sha-256\n")
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = int(free.getsockname()[1])
        self._server: subprocess.Popen[bytes] | None = None
        self._databases = 0
        self.start()

    def start(self) -> None:
        """Start (again), and wait until it answers. What was committed is on the disk: fsync stays on."""
        program = [*self._within, *self._as, str(self._bin / "postgres"), "-D", str(self.folder / "data"),
                   "-p", str(self.port), "-c", f"listen_addresses={self._listens}",
                   "-c", f"unix_socket_directories={self.folder}",
                   "-c", "logging_collector=off", "-c", "shared_buffers=256MB", "-c", "max_connections=120",
                   "-c", "recovery_init_sync_method=syncfs"]
        self._server = subprocess.Popen(program, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                                        cwd=self.folder, start_new_session=True)
        ends = time.monotonic() + STARTS_S
        while time.monotonic() < ends:
            ready = subprocess.run([*self._within, str(self._bin / "pg_isready"), "-q", "-h", self._listens, "-p",
                                    str(self.port)], check=False)
            if ready.returncode == 0:
                return
            time.sleep(0.05)
        raise RuntimeError("the database did not start")

    def stop(self, how: str = "fast") -> None:
        """End it: `fast` as an operator would, `immediate` as a crash (it recovers from its log afterwards)."""
        if self._server is None:
            return
        os.killpg(self._server.pid, signal.SIGINT if how == "fast" else signal.SIGQUIT)
        self._server.wait(timeout=60)
        self._server = None

    def pause(self) -> None:
        """Stand still, as a machine does that hangs: it takes no more, but its connections stay."""
        self._signal_all(signal.SIGSTOP)

    def go_on(self) -> None:
        self._signal_all(signal.SIGCONT)

    def new_database(self) -> str:
        """The address of a fresh, empty database."""
        import psycopg

        self._databases += 1
        name = f"homes_{self._databases}"
        with psycopg.connect(self._address("postgres"), autocommit=True) as made:
            made.execute(f"create database {name}")  # type: ignore[call-overload]
        return self._address(name)

    def remove(self) -> None:
        self.stop("immediate")
        shutil.rmtree(self.folder, ignore_errors=True)

    def _address(self, database: str) -> str:
        return f"postgresql://desk:{self._password}@{self._listens}:{self.port}/{database}"

    def _run(self, program: str, *args: str) -> None:
        subprocess.run([*self._as, str(self._bin / program), *args], check=True, stdout=subprocess.DEVNULL,
                       cwd=self.folder, env={**os.environ, "LC_ALL": "C.UTF-8"})

    def _signal_all(self, number: int) -> None:
        """To the server and its processes, each a child of the server (or, under setpriv, the server itself)."""
        assert self._server is not None
        with contextlib.suppress(ProcessLookupError):
            children = subprocess.run(["ps", "-o", "pid=", "--ppid", str(self._server.pid)], capture_output=True,
                                      text=True, check=False).stdout.split()
            for pid in (self._server.pid, *map(int, children)):
                os.kill(pid, number)


def main() -> None:
    if why := missing():
        raise SystemExit(why)
    cluster = Cluster()
    try:
        print(cluster.new_database(), flush=True)
        signal.sigwait({signal.SIGINT, signal.SIGTERM})
    finally:
        cluster.remove()


if __name__ == "__main__":
    main()
