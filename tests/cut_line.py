"""A wire to a database that a test can cut."""

from __future__ import annotations

import socket
import threading
import time
from contextlib import suppress


class Line:
    """A wire to the database that can be cut at the word that ends a transaction: before it arrives, or after."""

    def __init__(self, port: int) -> None:
        self.cut = ""                                       # "before" or "after"
        self._to = port
        self._door = socket.create_server(("127.0.0.1", 0))
        self.port = self._door.getsockname()[1]
        threading.Thread(target=self._accept, daemon=True).start()

    def _accept(self) -> None:
        while True:
            near, _ = self._door.accept()
            far = socket.create_connection(("127.0.0.1", self._to))
            for one, other, watched in ((near, far, True), (far, near, False)):
                threading.Thread(target=self._carry, args=(one, other, watched), daemon=True).start()

    def _carry(self, one: socket.socket, other: socket.socket, watched: bool) -> None:
        with suppress(OSError):
            while data := one.recv(65536):
                cut, found = self.cut, watched and b"commit" in data.lower()
                if not (found and cut == "before"):
                    other.sendall(data)
                if found and cut:
                    self.cut = ""
                    time.sleep(0.5)                         # the database is done by then; its answer is kept back
                    break
        for end in (one, other):
            with suppress(OSError):
                end.shutdown(socket.SHUT_RDWR)
