"""One server in one process, or in several that listen at the same door. A worker that dies is started again.

Sanic's own manager of workers was read and not taken: it leaves a worker that was killed dead, and where one is slow to
begin it kills its whole process group, which may hold programs of others.
"""

from __future__ import annotations

import logging
import multiprocessing
import os
import signal
import socket
import ssl
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection, wait
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sanic import Sanic

LOG = logging.getLogger("bagside")
MOST = 64  # workers
LOOKS_EVERY_S = 0.5
ENDS_S = 20.0  # what a worker has to finish what it was asked; then it is ended
TRIES = 3  # workers that die before they are ready, until it is given up
STOPS = (signal.SIGINT, signal.SIGTERM)


@dataclass(frozen=True)
class Secured:
    """The files of a certificate: each worker reads them itself."""

    cert: str
    key: str

    def context(self) -> ssl.SSLContext:
        """Raises OSError where they cannot be read; never a question at the terminal."""
        made = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        made.load_cert_chain(self.cert, self.key, password=lambda: b"")
        return made


def serve(
    make: Callable[[], Sanic[Any, Any]], door: socket.socket, secured: Secured | None, workers: int,
    ready: Callable[[], None],
) -> bool:
    """Serve at the door until Ctrl-C or SIGTERM. `ready` is called once, when all workers answer.

    `make` makes the server; with several workers it is sent to each (pickled). False where they cannot begin.
    """
    if workers > 1:
        return Workers(make, door, secured, workers).run(ready)
    app = make()

    @app.after_server_start
    async def begun(_: Any) -> None:
        ready()

    app.run(sock=door, ssl=secured.context() if secured else None, single_process=True, motd=False, access_log=False)
    return True


class Workers:
    """The processes, watched from the one that started them."""

    def __init__(
        self, make: Callable[[], Sanic[Any, Any]], door: socket.socket, secured: Secured | None, workers: int
    ) -> None:
        self._context = multiprocessing.get_context("spawn")  # nothing of this process: no thread, lock or connection
        self._begun = self._context.Semaphore(0)
        end, self._end = self._context.Pipe(duplex=False)  # ours closes when this process ends, however it does
        self._args = (make, door, secured, self._begun, end)
        self._running: list[Any] = []
        self._wanted, self._over = workers, False

    def run(self, ready: Callable[[], None]) -> bool:
        """Until a signal to stop. False where workers die again and again before they answer."""
        before = {one: signal.signal(one, self._stop) for one in STOPS}
        try:
            self._running = [self._started() for _ in range(self._wanted)]
            return self._watch(ready)
        finally:
            self._end_all()
            for one, was in before.items():
                signal.signal(one, was)

    def _watch(self, ready: Callable[[], None]) -> bool:
        answering, told, died = 0, False, 0
        while not self._over:
            wait([one.sentinel for one in self._running], LOOKS_EVERY_S)
            while self._begun.acquire(block=False):
                answering += 1
            if answering >= self._wanted and not told:
                told = True
                ready()
            gone = [] if self._over else [one for one in self._running if not one.is_alive()]
            died += len(gone)
            if died - answering >= TRIES:
                return False
            for one in gone:
                LOG.error("worker %s ended (%s); another is started", one.pid, one.exitcode)
                self._running.remove(one)
                self._running.append(self._started())
        return True

    def _stop(self, *_: Any) -> None:
        self._over = True

    def _started(self) -> Any:
        process = self._context.Process(target=work, args=self._args, daemon=True)
        with _deaf():
            process.start()
        return process

    def _end_all(self) -> None:
        for one in self._running:
            one.terminate()
        ends = time.monotonic() + ENDS_S
        for one in self._running:
            one.join(max(0.0, ends - time.monotonic()))
            if one.is_alive():
                one.kill()
                one.join()


@contextmanager
def _deaf() -> Iterator[None]:
    """What is started here does not hear Ctrl-C until it listens by itself: it would end with a traceback."""
    was = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, was)


def work(
    make: Callable[[], Sanic[Any, Any]], door: socket.socket, secured: Secured | None, begun: Any, end: Connection
) -> None:
    """One worker, until it is told to stop or the process that started it has gone."""
    app = make()

    @app.after_server_start
    async def answers(_: Any) -> None:
        begun.release()

    threading.Thread(target=_orphaned, args=(end,), daemon=True).start()
    app.run(sock=door, ssl=secured.context() if secured else None, single_process=True, motd=False, access_log=False)


def _orphaned(end: Connection) -> None:
    """Nobody would end or start this worker any more: it stops, as by a signal."""
    with suppress(EOFError, OSError):
        end.recv()
    os.kill(os.getpid(), signal.SIGTERM)
