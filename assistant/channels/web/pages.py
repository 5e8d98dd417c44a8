"""What a browser gets. Every page works without JavaScript; with it, answers and the strip come as parts of a page."""

from __future__ import annotations

import secrets
from typing import Any

from sanic import HTTPResponse, Request, Sanic
from sanic.response import html, redirect

from assistant.channels.web import facts, guard, worker
from assistant.channels.web.events import Events
from assistant.channels.web.guard import TOKEN, is_local, token_of
from assistant.channels.web.house import TALK, House, new_talk, talk_of, text_field
from assistant.channels.web.household import SHARED
from assistant.channels.web.refused import Refused
from knowledge.library import table

COLOURS = "bagside_colours"
KINDS = ("day", "night")
YEAR_S = 31_536_000
PART = "x-bagside"  # the page's own script asks for a part of a page


def attach(app: Sanic[Any, Any], house: House, events: Events) -> None:
    """The routes of the page."""

    @app.get("/")
    async def home(request: Request) -> HTTPResponse:
        talk = talk_of(request)
        if talk == SHARED:
            talk = new_talk()
        page = html(await house.run(_home, house, request, talk, None))
        _cookie(request, page, TALK, talk)
        page.headers["permissions-policy"] = guard.MAY_HEAR
        return page

    @app.post("/ask")
    async def ask(request: Request) -> HTTPResponse:
        text, number = text_field(request.form, "text"), text_field(request.form, "request", 64, needed=False)
        made = await house.run(_ask, house, request, text, number)
        events.soon()
        return html(made)

    @app.post("/opened")
    async def opened(request: Request) -> HTTPResponse:
        return html(await house.run(_opened, house, request, text_field(request.form, "card", 40)))

    @app.get("/strip")
    async def strip(request: Request) -> HTTPResponse:
        return html(await house.run(_strip, house))

    @app.post("/seen")
    async def seen(request: Request) -> HTTPResponse:
        await house.run(house.household.seen, text_field(request.form, "id", 20))
        events.soon()
        return to("/")

    _attach_views(app, house)
    _attach_pairing(app, house)


def _attach_views(app: Sanic[Any, Any], house: House) -> None:
    @app.get(worker.ADDRESS)
    async def worker_script(_: Request) -> HTTPResponse:
        return worker.served()

    @app.get("/<name:str>")
    async def view(request: Request, name: str) -> HTTPResponse:
        if name not in facts.VIEWS:
            raise Refused("not_found")
        return html(await house.run(_view, house, request, name))

    @app.get("/sheet")
    async def sheet(request: Request) -> HTTPResponse:
        made, request.ctx.style = await house.run(facts.sheet, house.household)
        request.ctx.framed = True
        return html(made)

    @app.post("/colours")
    async def change_colours(request: Request) -> HTTPResponse:
        kind = text_field(request.form, "colours", 10)
        back = text_field(request.form, "back", 20, needed=False) or "/"
        if kind not in KINDS:
            raise Refused("not_read")
        done = to(back if back[:1] == "/" and back[1:] in (*facts.VIEWS, "pair") else "/")
        _cookie(request, done, COLOURS, kind)
        return done


def _attach_pairing(app: Sanic[Any, Any], house: House) -> None:
    @app.get("/pair")
    async def pair_page(request: Request) -> HTTPResponse:
        return html(_pair_page(house, request, ""))

    @app.post("/pair")
    async def pair(request: Request) -> HTTPResponse:
        words = table("page_en")["pair"]
        name = facts.phone_name(request.headers.get("user-agent", ""))
        result, token = house.pairing.pair(text_field(request.form, "code", 40) or "", name)
        if token is None:
            return html(_pair_page(house, request, words["failed"][result]), status=403)
        done = to("/")
        _cookie(request, done, TOKEN, token)
        return done

    @app.post("/unpair")
    async def unpair(request: Request) -> HTTPResponse:
        """A phone lets go of itself; at the computer any phone can be let go."""
        me, wanted = house.pairing.knows(token_of(request)), text_field(request.form, "number", 6)
        if not (wanted and wanted.isdecimal()) or not (is_local(request) or int(wanted) == me):
            raise Refused("not_read")
        house.pairing.unpair(int(wanted))
        return to("/pair")


def to(path: str) -> HTTPResponse:
    return redirect(path, status=303)


def colours(request: Request) -> str:
    """The colours chosen with the switch; empty: the system's."""
    chosen = request.cookies.get(COLOURS, "")
    return chosen if chosen in KINDS else ""


def _cookie(request: Request, response: HTTPResponse, name: str, value: str) -> None:
    response.add_cookie(name, value, httponly=True, samesite="Strict", secure=request.scheme == "https", path="/",
                        max_age=YEAR_S)


def _base(request: Request) -> dict[str, Any]:
    return {"colours": colours(request), "path": request.path, "number": secrets.token_hex(12)}


def _home(house: House, request: Request, talk: str, answer: dict[str, Any] | None) -> str:
    shown = answer or facts.last_answer(house.household, talk)
    known = {**facts.frame(house.household), **facts.home(house.household)}
    return house.render("home.html", **_base(request), **known, answer=shown)


def _ask(house: House, request: Request, text: str, number: str | None) -> str:
    return _answered(house, request, facts.asked(house.household, talk_of(request), text, number))


def _opened(house: House, request: Request, card: str) -> str:
    answer = facts.opened(house.household, talk_of(request), card)
    if answer is None:
        raise Refused("not_read")
    return _answered(house, request, answer)


def _answered(house: House, request: Request, answer: dict[str, Any]) -> str:
    """The answer alone for the page's script, else the whole page with it."""
    if PART in request.headers:
        return house.render("answer.html", answer=answer)
    return _home(house, request, talk_of(request), answer)


def _strip(house: House) -> str:
    return house.render("strip_part.html", **facts.home(house.household))


def _view(house: House, request: Request, name: str) -> str:
    known = {**facts.frame(house.household), **facts.VIEWS[name](house.household)}
    return house.render(f"{name}.html", **_base(request), **known)


def _pair_page(house: House, request: Request, failed: str) -> str:
    me = house.pairing.knows(token_of(request))
    phones = [p for p in house.pairing.phones() if is_local(request) or p["number"] == me]
    return house.render("pair.html", **_base(request), failed=failed, phones=phones, me=me, local=is_local(request),
                        plain=request.scheme != "https")
