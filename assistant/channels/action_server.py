"""`bagside actions`: the actions over HTTP in the shape of rasa-sdk's action server, from this computer alone.

Whatever intent the front end heard, the message is read by our own language layer (answer.py), so danger is heard
first. The conversation travels in the tracker's slot "talk" and is not kept between calls: any number of these servers
may serve one household's records, or all the homes of a service, each sender being a home (action_calls.py). A message
that is sent again (its message_id) is written down once.
"""

from __future__ import annotations

import argparse
import asyncio
import hmac
import logging
import os
import sys
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.channels.command_line import BAD, DONE, run, say
from assistant.household.home import Home, open_home
from assistant.household.unreadable import HouseholdUnreadable
from knowledge.library import table

if TYPE_CHECKING:
    from sanic import HTTPResponse, Request, Sanic

    from assistant.channels.action_calls import Service
    from assistant.channels.web.household import Clock

HERE, PORT = "127.0.0.1", 5055  # the port that a Rasa front end expects
LARGEST = 4_000_000  # bytes: a tracker carries its whole conversation
TOKEN, SHORTEST_TOKEN = "BAGSIDE_ACTION_TOKEN", 16
LOG = logging.getLogger("bagside")


def main(argv: list[str]) -> int:
    """Until Ctrl-C. 2 for a bad port, address or time, or an address beyond this computer without a secret."""
    parser = argparse.ArgumentParser(prog="bagside actions", description=table("rasa_en")["usage"]["actions"])
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--home", metavar="DIR")
    where.add_argument("--homes", metavar="WHERE", help=table("rasa_en")["usage"]["homes"])
    parser.add_argument("--host", default=HERE, help=HERE)
    parser.add_argument("--port", type=int, default=PORT, help=f"{PORT}; 0 takes a free one")
    parser.add_argument("--workers", type=int, default=1, metavar="N", help="processes that answer (1)")
    parser.add_argument("--now", metavar="ISO8601", help="begin at this moment and go on from there (to practise)")
    parser.set_defaults(run=_run)
    return run(parser, argv)


def _run(args: argparse.Namespace) -> int:
    from assistant.channels.serve import faults_to, listening, loopback, several
    from assistant.channels.serve import words as of_servers
    from assistant.channels.web.household import Clock
    from assistant.channels.workers import serve
    from assistant.session import instant

    secret = os.environ.get(TOKEN, "")
    if (args.homes or not loopback(args.host)) and len(secret) < SHORTEST_TOKEN:
        say(table("rasa_en")["says"]["homes_secret" if args.homes else "only_here"], sys.stderr)
        return BAD
    home = None if args.homes else open_home(args.home)
    try:
        begin = None if args.now is None else instant(args.now, home.plan() if home else None)
        several(args.workers, True)
        door = listening(args.host, args.port)
    except ValueError as fault:  # NoSuchNow is one
        say(str(fault), sys.stderr)
        return BAD

    def greet() -> None:
        host, port = door.getsockname()[:2]
        say(table("rasa_en")["says"]["hello"].format(address=f"http://{host}:{port}"))
        sys.stdout.flush()

    if home and args.workers > 1:
        faults_to(home.folder / "actions.log")
    make = partial(app_of, home.folder if home else args.homes, Clock(begin), secret, loopback(args.host))
    if serve(make, door, None, args.workers, greet):
        return DONE
    say(of_servers("no_workers"), sys.stderr)
    return BAD


def app_of(where: Path | str, clock: Clock, secret: str, only_here: bool) -> Sanic[Any, Any]:
    """The server of one worker: for the household in a folder (a Path), or for the homes of a service (an address)."""
    from assistant.channels.action_calls import Service
    from assistant.channels.serve import faults_to
    from assistant.homes.homes import open_homes

    if isinstance(where, Path):
        faults_to(where / "actions.log")
        return make_app(Home(where), clock, secret, only_here)
    return make_app(Service(open_homes(where)), clock, secret, only_here)


def make_app(
    of: Home | Service, clock: Clock, secret: str, only_here: bool, name: str = "bagside_actions"
) -> Sanic[Any, Any]:
    """The server, not yet listening: POST /webhook, GET /actions, GET /health."""
    from sanic import Sanic
    from sanic.log import logger as sanic_log
    from sanic.response import json as json_response

    from assistant.channels.action_calls import served
    from assistant.warm import warm

    app: Sanic[Any, Any] = Sanic(name, configure_logging=False)
    app.config.update(REQUEST_MAX_SIZE=LARGEST, ACCESS_LOG=False, FALLBACK_ERROR_FORMAT="json",
                      GRACEFUL_SHUTDOWN_TIMEOUT=1.0)
    sanic_log.setLevel(logging.ERROR)
    executor = served(of, clock)

    @app.before_server_start
    async def begin(_: Any) -> None:
        await asyncio.to_thread(warm)  # the first caller waits for no library

    @app.on_request
    async def enter(request: Request) -> HTTPResponse | None:
        code = refusal(request, secret, only_here)
        return None if code is None else _no(code, 403)

    @app.post("/webhook")
    async def webhook(request: Request) -> HTTPResponse:
        """A call of one action -> {"events", "responses"}."""
        from rasa_sdk.interfaces import ActionNotFoundException

        call = request.json
        if not isinstance(call, dict) or not isinstance(call.get("tracker"), dict) or not call.get("next_action"):
            return _no("not_read", 400)
        try:
            ran = await executor.run({**call, "domain": {}, "tracker": {**EMPTY, **call["tracker"]}})
        except ActionNotFoundException:
            return _no("not_found", 404)
        except HouseholdUnreadable:  # any other fault of the records is said beside the answer
            return _no("no_home", 404)
        return json_response(ran.model_dump())

    @app.get("/actions")
    async def names(_: Request) -> HTTPResponse:
        return json_response([{"name": one} for one in executor.actions])

    @app.get("/health")
    async def health(_: Request) -> HTTPResponse:
        return json_response({"status": "ok"})

    app.error_handler.add(Exception, refused)
    return app


def refused(request: Request, fault: Exception) -> HTTPResponse:
    """One sentence and a status; nothing that was sent is said back."""
    from sanic.exceptions import NotFound, PayloadTooLarge, SanicException

    known = {NotFound: ("not_found", 404), PayloadTooLarge: ("too_long", 413), SanicException: ("not_read", 400)}
    code, status = next((found for kind, found in known.items() if isinstance(fault, kind)), ("fault", 500))
    if code == "fault":
        LOG.error("an action failed", exc_info=fault)
    return _no(code, status)


#: what a tracker may leave out
EMPTY: dict[str, Any] = {"sender_id": "default", "slots": {}, "latest_message": {}, "events": [], "paused": False,
                         "followup_action": None, "active_loop": {}, "latest_action_name": None}


def refusal(request: Request, secret: str, only_here: bool) -> str | None:
    """Why a request is not let in: a page of a browser, another name of this computer, no secret, no JSON."""
    from assistant.channels.web.guard import good_host

    if "origin" in request.headers or request.headers.get("sec-fetch-site") not in (None, "none"):
        return "origin"
    if only_here and not good_host(request.headers.getall("host", [])):
        return "host"
    if secret and not hmac.compare_digest(str(request.args.get("token", "")).encode(), secret.encode()):
        return "token"
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    return "kind" if request.method == "POST" and kind != "application/json" else None


def _no(code: str, status: int) -> HTTPResponse:
    from sanic.response import json as json_response

    return json_response({"error": code, "text": table("rasa_en")["refused"][code]}, status=status)
