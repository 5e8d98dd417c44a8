"""An end to waiting for a database that says nothing: its own time limits do not help where it hangs or is cut off."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

LOOKS_EVERY_S = 0.5


class Watch:
    """One thread that shuts the line of every connection which waited longer than `seconds` for an answer."""

    def __init__(self, seconds: float) -> None:
        self._seconds = seconds
        self._busy = threading.Lock()
        self._waiting: dict[int, tuple[float, Any]] = {}
        self._thread: threading.Thread | None = None

    @contextmanager
    def over(self, connection: Any) -> Iterator[None]:
        """While the body waits for this connection it is watched; shut, it fails as one that was lost."""
        me = threading.get_ident()
        with self._busy:
            self._waiting[me] = (time.monotonic() + self._seconds, connection)
            if self._thread is None or not self._thread.is_alive():  # none yet, or lost in a fork
                self._thread = threading.Thread(target=self._look, daemon=True)
                self._thread.start()
        try:
            yield
        finally:
            with self._busy:
                self._waiting.pop(me, None)

    def _look(self) -> None:
        while True:
            time.sleep(LOOKS_EVERY_S)
            with self._busy:
                late = [c for ends, c in self._waiting.values() if ends < time.monotonic()]
                for connection in late:
                    _shut(connection)


def _shut(connection: Any) -> None:
    with suppress(Exception), socket.socket(fileno=socket.dup(connection.fileno())) as line:
        line.shutdown(socket.SHUT_RDWR)
