"""Server-sent events: the state whenever it reads differently, and the reminders that are due."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from contextlib import suppress
from typing import Any

from sanic import Request

from assistant.channels.web.guard import is_local, token_of
from assistant.channels.web.house import LOG, House
from assistant.channels.web.refused import Refused

LOOKS_EVERY_S = 1.0
BEATS_EVERY = 15  # looks without news after which a line is sent that says nothing
MOST = 24  # pages that listen at once
BEHIND = 8  # events a slow page may be behind


class Events:
    """One task looks at the household while anybody listens; each page gets what is new."""

    def __init__(self, house: House, state: Callable[[House], dict[str, Any]]) -> None:
        self._house, self._state = house, state
        self._pages: dict[asyncio.Queue[str | None], str | None] = {}
        self._wake = asyncio.Event()
        self._last: dict[str, str] = {}
        self._over = False

    def soon(self) -> None:
        """Something was written: look now."""
        self._wake.set()

    async def watch(self) -> None:
        """Runs as long as the server does."""
        looks = 0
        while not self._over:
            with suppress(TimeoutError):
                await asyncio.wait_for(self._wake.wait(), LOOKS_EVERY_S)
            self._wake.clear()
            if self._over or not self._pages:
                self._last = {}
                continue
            self._drop_unpaired()
            looks += 1
            try:
                news = self._news(await self._house.run(self._state, self._house))
            except Refused:
                news = []
            except Exception:
                LOG.exception("no state for the pages that listen")
                news = []
            for line in news or ([": \n\n"] if looks % BEATS_EVERY == 0 else []):
                self._tell(line)

    async def send(self, request: Request) -> None:
        """One page's stream, until it goes or the server ends."""
        if len(self._pages) >= MOST:
            raise Refused("too_often")
        state = await self._house.run(self._state, self._house)
        queue: asyncio.Queue[str | None] = asyncio.Queue(BEHIND)
        response = await request.respond(content_type="text/event-stream")
        self._pages[queue] = None if is_local(request) else token_of(request) or ""
        try:
            for name, data in _parts(state).items():
                await response.send(f"event: {name}\ndata: {data}\n\n")
            while (line := await queue.get()) is not None:
                await response.send(line)
            await response.eof()
        finally:
            self._pages.pop(queue, None)

    def end(self) -> None:
        """The server ends: so does the watch, and each stream."""
        self._over = True
        self._wake.set()
        for queue in tuple(self._pages):
            _put(queue, None)

    def _news(self, state: dict[str, Any]) -> list[str]:
        parts = _parts(state)
        told = [f"event: {n}\ndata: {data}\n\n" for n, data in parts.items() if self._last.get(n) not in (data, None)]
        self._last = parts
        return told

    def _tell(self, line: str) -> None:
        for queue in tuple(self._pages):
            _put(queue, line)

    def _drop_unpaired(self) -> None:
        for queue, token in tuple(self._pages.items()):
            if token is not None and self._house.pairing.knows(token) is None:
                _put(queue, None)


def _put(queue: asyncio.Queue[str | None], line: str | None) -> None:
    """The next event; a page that is too far behind is let go and will come back by itself."""
    while queue.full():
        queue.get_nowait()
        line = None
    queue.put_nowait(line)


def _parts(state: dict[str, Any]) -> dict[str, str]:
    """The two kinds of event. `now` alone is no news."""
    shown = {name: value for name, value in state.items() if name not in ("now", "due")}
    return {"state": json.dumps(shown, ensure_ascii=False), "reminders": json.dumps(state["due"], ensure_ascii=False)}
