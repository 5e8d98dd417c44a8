"""The desk's server: the page's guard, a session cookie before every page but the login, one sentence for a fault."""

from __future__ import annotations

import asyncio
import logging
from typing import Any

from sanic import HTTPResponse, Request, Sanic
from sanic.exceptions import MethodNotAllowed, NotFound, PayloadTooLarge, SanicException
from sanic.log import logger as sanic_log
from sanic.response import html, redirect

from assistant.channels.desk import pages
from assistant.channels.desk.desk import Desk
from assistant.channels.desk.users import User
from assistant.channels.web import guard
from assistant.channels.web.house import text_field
from assistant.channels.web.one_thread import LOG, PAGE
from assistant.channels.web.refused import STATUS, Refused
from assistant.homes.homes import DESK
from assistant.warm import warm
from knowledge.library import table

COOKIE = "bagside_desk"
LARGEST = 65_536  # bytes of what is sent: a note and the words of a call
FREE = ("/login", "/static/", "/health")
KINDS: dict[type[Exception], str] = {
    NotFound: "not_found", MethodNotAllowed: "method", PayloadTooLarge: "too_long", SanicException: "not_read",
}


def make_app(desk: Desk, *, rate: guard.Rate | None = None, name: str = "bagside-desk") -> Sanic[Any, Any]:
    """The whole server, not yet listening. `rate` None: the usual one."""
    app: Sanic[Any, Any] = Sanic(name, configure_logging=False)
    app.config.update(REQUEST_MAX_SIZE=LARGEST, REQUEST_TIMEOUT=20, RESPONSE_TIMEOUT=60, KEEP_ALIVE_TIMEOUT=60,
                      GRACEFUL_SHUTDOWN_TIMEOUT=1.0, FALLBACK_ERROR_FORMAT="text", ACCESS_LOG=False)
    sanic_log.setLevel(logging.ERROR)
    limit = rate or guard.Rate()

    @app.before_server_start
    async def begin(_: Sanic[Any, Any]) -> None:
        await desk.run(warm)

    @app.before_server_stop
    async def end(_: Sanic[Any, Any]) -> None:
        await desk.close()

    @app.on_request
    async def enter(request: Request) -> HTTPResponse | None:
        return await _enter(desk, request, limit)

    @app.on_response  # type: ignore[untyped-decorator]
    async def leave(request: Request, response: HTTPResponse) -> None:
        guard.protect(request, response)

    @app.exception(Exception)
    async def refuse(request: Request, fault: Exception) -> HTTPResponse:
        return _refused(desk, fault)

    @app.get("/health")
    async def health(request: Request) -> HTTPResponse:
        return HTTPResponse('{"status":"ok"}', content_type="application/json")

    _attach_login(app, desk)
    pages.attach(app, desk)
    app.static("/static/", PAGE / "static", name="static")
    return app


async def _enter(desk: Desk, request: Request, limit: guard.Rate) -> HTTPResponse | None:
    if not limit.allows(request.ip, request.path):
        raise Refused("too_often")
    if not guard.good_host(request.headers.getall("host", [])):
        raise Refused("host")
    if request.method not in ("GET", "HEAD"):
        guard.check_sent(request)
    if request.path.startswith(FREE):
        return None
    user = await desk.run(desk.signed_in.user, request.cookies.get(COOKIE))
    if user is None:
        return redirect("/login", status=303)
    request.ctx.user = user
    return None


def _attach_login(app: Sanic[Any, Any], desk: Desk) -> None:
    @app.get("/login")
    async def login_page(request: Request) -> HTTPResponse:
        return html(desk.render("login.html", failed=""))

    @app.post("/login")
    async def login(request: Request) -> HTTPResponse:
        name, password = text_field(request.form, "name", 64) or "", text_field(request.form, "password", 256) or ""
        found = await desk.run(desk.signed_in.enter, name, password)
        if not isinstance(found, User):
            await desk.run(desk.audit, DESK, "-", f"sign-in {found}: {name.strip().lower()}")
            return html(desk.render("login.html", failed=table("desk_en")["login"][found]), status=403)
        await desk.run(desk.audit, DESK, found.name, "signed in")
        await desk.run(desk.signed_in.end, request.cookies.get(COOKIE))
        done, token = redirect("/", status=303), await desk.run(desk.signed_in.begin, found)
        done.add_cookie(COOKIE, token, httponly=True, samesite="Strict", path="/",
                        secure=request.scheme == "https")
        return done

    @app.post("/logout")
    async def logout(request: Request) -> HTTPResponse:
        await desk.run(desk.signed_in.end, request.cookies.get(COOKIE))
        done = redirect("/login", status=303)
        done.delete_cookie(COOKIE, path="/")
        return done


def _refused(desk: Desk, fault: Exception) -> HTTPResponse:
    """One sentence and a status. Nothing sent is said back."""
    known = (code for kind, code in KINDS.items() if isinstance(fault, kind))
    code = fault.code if isinstance(fault, Refused) else next(known, "fault")
    if code == "fault" and not isinstance(fault, asyncio.CancelledError):
        LOG.error("a request failed", exc_info=fault)
    text = table("desk_en")["refused"].get(code) or table("page_en")["refused"][code]
    return html(desk.render("refused.html", text=text), status=STATUS[code])
