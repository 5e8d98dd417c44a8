"""The desk's pages. All are made here, on the server; none needs a script. A reader looks, a nurse also writes."""

from __future__ import annotations

import hashlib
from typing import Any

from sanic import HTTPResponse, Request, Sanic
from sanic.response import html, redirect

from assistant.channels.desk.desk import Desk
from assistant.channels.web.house import LONGEST, text_field
from assistant.channels.web.refused import Refused
from assistant.paper.nurse_call import ANSWERS

LONGEST_NOTE = 20_000  # characters
ANSWER = "a."  # the fields of answers: "a.<card>.<number>"


def attach(app: Sanic[Any, Any], desk: Desk) -> None:
    @app.get("/")
    async def homes(request: Request) -> HTTPResponse:
        text = str(request.args.get("q") or "")[:100]
        return _page(desk, request, "homes.html", await desk.run(desk.listed, text))

    @app.get("/calls")
    async def calls(request: Request) -> HTTPResponse:
        return _page(desk, request, "calls.html", await desk.run(desk.calls))

    @app.get("/audit")
    async def audit(request: Request) -> HTTPResponse:
        _may(request, "lead")
        code = str(request.args.get("home") or "")[:40]
        return _page(desk, request, "audit.html", await desk.run(desk.audit_lines, code))

    @app.get("/home/<code:str>")
    async def home(request: Request, code: str) -> HTTPResponse:
        return _page(desk, request, "home.html", await desk.run(desk.opened, code, request.ctx.user))

    _attach_call(app, desk)
    _attach_writing(app, desk)


def _attach_call(app: Sanic[Any, Any], desk: Desk) -> None:
    @app.get("/home/<code:str>/call")
    async def blank(request: Request, code: str) -> HTTPResponse:
        return await _call(desk, request, code, "", {}, None)

    @app.post("/home/<code:str>/call")
    async def call(request: Request, code: str) -> HTTPResponse:
        answers = {name[len(ANSWER):]: values[0] for name, values in (request.form or {}).items()
                   if name.startswith(ANSWER) and values[0] in ANSWERS}
        typed, made = _note(request), text_field(request.form, "made", 64, needed=False)
        edited = typed if typed.strip() and _mark(typed) != made else None
        return await _call(desk, request, code, text_field(request.form, "words", LONGEST) or "", answers, edited)

    @app.post("/home/<code:str>/paper")
    async def paper(request: Request, code: str) -> HTTPResponse:
        """The note as it was edited, to print. Nothing is kept."""
        return _page(desk, request, "paper.html", {"home": code, "note": _note(request)})


async def _call(desk: Desk, request: Request, code: str, words: str, answers: dict[str, str],
                edited: str | None) -> HTTPResponse:
    """What the nurse wrote into the note stays; the note as it would build itself now then stands below it."""
    known = await desk.run(desk.call, code, request.ctx.user, words, answers)
    return _page(desk, request, "call.html", {
        **known, "note": known["made"] if edited is None else edited, "edited": edited is not None,
        "mark": _mark(known["made"])})


def _attach_writing(app: Sanic[Any, Any], desk: Desk) -> None:
    @app.post("/home/<code:str>/note")
    async def note(request: Request, code: str) -> HTTPResponse:
        _may(request, "nurse")
        text = _note(request)
        if not text.strip():
            raise Refused("not_read")
        kept = await desk.run(desk.keep_note, code, request.ctx.user, text)
        return redirect(f"/home/{kept}#notes", status=303)

    @app.post("/home/<code:str>/call-back")
    async def call_back(request: Request, code: str) -> HTTPResponse:
        _may(request, "nurse")
        level, due, text = (text_field(request.form, name, LONGEST) or "" for name in ("level", "due", "about"))
        await desk.run(desk.ask_back, code, request.ctx.user, level, due, text)
        return redirect("/calls", status=303)

    @app.post("/home/<code:str>/called")
    async def called(request: Request, code: str) -> HTTPResponse:
        _may(request, "nurse")
        number = text_field(request.form, "number", 20) or ""
        if not (number.isascii() and number.isdecimal()):
            raise Refused("not_read")
        if not await desk.run(desk.called, code, request.ctx.user, int(number)):
            raise Refused("not_open")
        return redirect("/calls", status=303)


def _page(desk: Desk, request: Request, template: str, known: dict[str, Any]) -> HTTPResponse:
    return html(desk.render(template, **known, user=request.ctx.user))


def _may(request: Request, role: str) -> None:
    if not request.ctx.user.may(role):
        raise Refused("role")


def _note(request: Request) -> str:
    return (text_field(request.form, "note", LONGEST_NOTE, needed=False) or "").replace("\r\n", "\n")


def _mark(note: str) -> str:
    """By what a note is known that nobody has edited."""
    return hashlib.sha256(note.strip().encode("utf-8", "surrogatepass")).hexdigest()
