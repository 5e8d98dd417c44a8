"""The server: Sanic, with the guard before every handler and one sentence for whatever goes wrong. START READING HERE.

    guard.py      who may ask, and how          house.py      the household in its own thread, templates
    pages.py      what a browser gets           household.py  plan, sessions, clock
    api.py        what a program gets           shape.py, state.py, day_strip.py   facts for the page
    events.py     state and reminders, pushed   pairing.py    phones, codes, tokens
"""

from __future__ import annotations

import asyncio
import logging
from typing import Any

from sanic import HTTPResponse, Request, Sanic
from sanic.exceptions import MethodNotAllowed, NotFound, PayloadTooLarge, SanicException
from sanic.log import logger as sanic_log
from sanic.response import html
from sanic.response import json as json_response

from assistant.channels.web import api, guard, pages
from assistant.channels.web.events import Events
from assistant.channels.web.guard import Rate
from assistant.channels.web.house import House
from assistant.channels.web.household import Household
from assistant.channels.web.one_thread import LOG, PAGE
from assistant.channels.web.pairing import Pairing
from assistant.channels.web.refused import STATUS, Refused
from assistant.warm import warm
from knowledge.library import table


def make_app(
    household: Household, pairing: Pairing, *, rate: Rate | None = None, name: str = "bagside"
) -> Sanic[Any, Any]:
    """The whole server, not yet listening. `rate` None: the usual one."""
    app: Sanic[Any, Any] = Sanic(name, configure_logging=False)
    app.config.update(REQUEST_MAX_SIZE=guard.LARGEST, REQUEST_TIMEOUT=20, RESPONSE_TIMEOUT=60, KEEP_ALIVE_TIMEOUT=60,
                      GRACEFUL_SHUTDOWN_TIMEOUT=1.0, FALLBACK_ERROR_FORMAT="text", ACCESS_LOG=False)
    sanic_log.setLevel(logging.ERROR)
    house = House(household, pairing)
    events = Events(house, api.whole_state)
    limit = rate or Rate()

    @app.before_server_start
    async def begin(_: Sanic[Any, Any]) -> None:
        await house.run(warm)
        events.begin()

    @app.before_server_stop
    async def end(_: Sanic[Any, Any]) -> None:
        await events.end()
        await house.close()

    @app.on_request
    async def enter(request: Request) -> None:
        guard.check(request, pairing, limit)

    @app.on_response  # type: ignore[untyped-decorator]
    async def leave(request: Request, response: HTTPResponse) -> None:
        guard.protect(request, response)

    @app.exception(Exception)
    async def refuse(request: Request, fault: Exception) -> HTTPResponse:
        return refused(house, request, fault)

    pages.attach(app, house, events)
    api.attach(app, house, events)
    app.static("/static/", PAGE / "static", name="static")
    return app


def refused(house: House, request: Request, fault: Exception) -> HTTPResponse:
    """One sentence and a status; a fault of ours also leaves a line in the program's log. Nothing sent is said back."""
    if isinstance(fault, Refused):
        code, status = fault.code, fault.status
    else:
        code = next((c for kind, c in KINDS.items() if isinstance(fault, kind)), "fault")
        status = STATUS[code]
        if code == "fault" and not isinstance(fault, asyncio.CancelledError):
            LOG.error("a request failed", exc_info=fault)
    text = table("page_en")["refused"][code]
    if guard.is_for_machines(request.path):
        return json_response({"error": code, "text": text}, status=status)
    if code == "not_paired" and request.method == "GET" and "x-bagside" not in request.headers:
        return pages.to("/pair")
    return html(house.render("refused.html", text=text, colours=pages.colours(request)), status=status)


KINDS: dict[type[Exception], str] = {
    NotFound: "not_found", MethodNotAllowed: "method", PayloadTooLarge: "too_long", SanicException: "not_read",
}
