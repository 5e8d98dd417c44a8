"""Server-sent events: the state whenever it reads differently, and the reminders that are due."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from sanic import Request

from assistant.channels.web.guard import is_local, token_of
from assistant.channels.web.house import House
from assistant.channels.web.one_thread import LOG
from assistant.channels.web.refused import Refused

LOOKS_EVERY_S = 1.0
BEATS_EVERY = 15  # looks without news after which a beat is sent: a page that hears none knows that it is cut off
MOST = 24  # pages that listen at once
BEHIND = 8  # events a slow page may be behind


@dataclass(eq=False)
class Listener:
    """A page that listens: what it was told last, and the token of its phone (None: this computer)."""

    token: str | None
    told: dict[str, str]
    queue: asyncio.Queue[str | None] = field(default_factory=lambda: asyncio.Queue(BEHIND))

    def put(self, line: str | None) -> None:
        """The next event; a page that is too far behind is let go and will come back by itself."""
        while self.queue.full():
            self.queue.get_nowait()
            line = None
        self.queue.put_nowait(line)

    def tell(self, parts: dict[str, str]) -> bool:
        """Queue what reads differently from what was told. Was there any?"""
        news = {name: data for name, data in parts.items() if self.told.get(name) != data}
        for name, data in news.items():
            self.put(_event(name, data))
        self.told = parts
        return bool(news)


class Events:
    """One task looks at the household while anybody listens; each page gets what is new."""

    def __init__(self, house: House, state: Callable[[House], dict[str, Any]]) -> None:
        self._house, self._state = house, state
        self._pages: set[Listener] = set()
        self._wake = asyncio.Event()
        self._over = False
        self._task: asyncio.Task[None] | None = None

    def begin(self) -> None:
        """Start to watch; within the server's loop."""
        self._task = asyncio.create_task(self._watch())

    def soon(self) -> None:
        """Something was written: look now."""
        self._wake.set()

    async def _watch(self) -> None:
        looks = 0
        while not self._over:
            with suppress(TimeoutError):
                await asyncio.wait_for(self._wake.wait(), LOOKS_EVERY_S)
            self._wake.clear()
            if self._over or not self._pages:
                continue
            self._drop_unpaired()
            looks += 1
            parts: dict[str, str] | None = None
            try:
                parts = _parts(await self._house.run(self._state, self._house))
            except Refused:
                pass  # the page says so when it asks
            except Exception:
                LOG.exception("no state for the pages that listen")
            for page in tuple(self._pages):
                told = parts is not None and page.tell(parts)
                if not told and looks % BEATS_EVERY == 0:
                    page.put(_event("beat", "{}"))

    async def send(self, request: Request) -> None:
        """One page's stream, until it goes or the server ends."""
        if len(self._pages) >= MOST:
            raise Refused("too_often")
        state = _parts(await self._house.run(self._state, self._house))
        response = await request.respond(content_type="text/event-stream")
        page = Listener(None if is_local(request) else token_of(request) or "", {})
        page.tell(state)
        self._pages.add(page)
        try:
            while (line := await page.queue.get()) is not None:
                await response.send(line)
            await response.eof()
        finally:
            self._pages.discard(page)

    async def end(self) -> None:
        """The server ends: so does the watch, and each stream."""
        self._over = True
        self._wake.set()
        for page in tuple(self._pages):
            page.put(None)
        if self._task is not None:
            await self._task

    def _drop_unpaired(self) -> None:
        for page in tuple(self._pages):
            if page.token is not None and self._house.pairing.knows(page.token) is None:
                page.put(None)


def _event(name: str, data: str) -> str:
    return f"event: {name}\ndata: {data}\n\n"


def _parts(state: dict[str, Any]) -> dict[str, str]:
    """The two kinds of event. `now` alone is no news."""
    shown = {name: value for name, value in state.items() if name not in ("now", "due")}
    return {"state": json.dumps(shown, ensure_ascii=False), "reminders": json.dumps(state["due"], ensure_ascii=False)}
