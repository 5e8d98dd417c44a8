"""`bagside desk`: the nurse line's desk in the browser; `bagside desk user` writes its user file,
`bagside desk plan` puts a plan in use for a home."""

from __future__ import annotations

import argparse
import getpass
import sys
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.channels.command_line import BAD, DONE, run, say
from assistant.channels.desk.users import ROLES, Users
from assistant.household.plan_reader import plan_bytes, read_values
from assistant.session import NoSuchNow, instant
from knowledge.library import table

if TYPE_CHECKING:
    from sanic import Sanic

    from assistant.channels.web.guard import Rate
    from assistant.channels.web.household import Clock

HERE, PORT = "127.0.0.1", 8615


def main(argv: list[str]) -> int:
    """Until Ctrl-C. 2 for a bad name, password, port, address or certificate; 3 where the homes cannot be reached."""
    apart = {"user": _user_parser, "plan": _plan_parser}
    if argv[:1] and argv[0] in apart:
        return run(apart[argv[0]](), argv[1:])
    parser = argparse.ArgumentParser(prog="bagside desk", description="The nurse line's desk, behind a login.")
    parser.add_argument("--homes", required=True, metavar="WHERE", help="a folder of homes, or postgresql://...")
    parser.add_argument("--users", required=True, metavar="FILE", help="written by: bagside desk user")
    parser.add_argument("--host", default=HERE, help=f"the address to listen at ({HERE}; others need a certificate)")
    parser.add_argument("--port", type=int, default=PORT, help=f"{PORT}; 0 takes a free one")
    parser.add_argument("--now", metavar="ISO8601", help="begin at this moment and go on from there (to practise)")
    parser.add_argument("--workers", type=int, default=1, metavar="N", help="processes that answer (1)")
    parser.add_argument("--tls-cert", metavar="FILE")
    parser.add_argument("--tls-key", metavar="FILE")
    parser.set_defaults(run=_run)
    return run(parser, argv)


def words(name: str, /, **facts: Any) -> str:
    return str(table("desk_en")["command"][name]).format(**facts)


def _user_parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="bagside desk user", description="Add a user, or give a new password.")
    parser.add_argument("name")
    parser.add_argument("--role", required=True, choices=ROLES)
    parser.add_argument("--users", required=True, metavar="FILE")
    parser.set_defaults(run=_user)
    return parser


def _plan_parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="bagside desk plan", description="Take a plan into use for a home.")
    parser.add_argument("home", metavar="CODE", help="the home, made if it is new")
    parser.add_argument("file", metavar="PLAN.toml", help="checked first; the plan before it is kept")
    parser.add_argument("--homes", required=True, metavar="WHERE", help="a folder of homes, or postgresql://...")
    parser.set_defaults(run=_plan)
    return parser


def _plan(args: argparse.Namespace) -> int:
    from assistant.homes.homes import good_code, open_homes

    data, home = plan_bytes(Path(args.file)), good_code(args.home)
    read_values(data, args.file)
    homes = open_homes(args.homes)
    try:
        homes.put_plan(home, data, datetime.now(UTC))
    finally:
        homes.close()
    say(words("plan", home=home))
    return DONE


def _user(args: argparse.Namespace) -> int:
    """The password is asked for twice at a terminal, else read as one line: it never stands among the arguments."""
    if sys.stdin.isatty():
        password = getpass.getpass(words("password"))
        if getpass.getpass(words("again")) != password:
            say(words("not_alike"), sys.stderr)
            return BAD
    else:
        password = sys.stdin.readline().rstrip("\r\n")
    try:
        Users(Path(args.users)).put(args.name, args.role, password)
    except ValueError as fault:
        say(words(str(fault)), sys.stderr)
        return BAD
    say(words("user", name=args.name, role=args.role))
    return DONE


def _run(args: argparse.Namespace) -> int:
    from assistant.channels.serve import listening, loopback, several, tls
    from assistant.channels.serve import words as of_servers
    from assistant.channels.web.guard import Rate
    from assistant.channels.web.household import Clock
    from assistant.channels.workers import serve
    from assistant.homes.homes import open_homes

    Users(Path(args.users)).still("")  # says at once where the file cannot be read
    open_homes(args.homes)
    try:
        begin = None if args.now is None else instant(args.now, None)
        secured = tls(args.tls_cert, args.tls_key)
        if secured is None and not loopback(args.host):
            raise ValueError(words("needs_tls"))
        several(args.workers, True)
        door = listening(args.host, args.port)
    except (NoSuchNow, ValueError) as fault:
        say(str(fault), sys.stderr)
        return BAD
    host, port = door.getsockname()[:2]
    shown = f"[{host}]" if ":" in host else host

    def greet() -> None:
        say(words("hello", address=f"{'https' if secured else 'http'}://{shown}:{port}/"))
        sys.stdout.flush()

    make = partial(app_of, args.homes, Path(args.users), Clock(begin), Rate(shared=args.workers > 1))
    if serve(make, door, secured, args.workers, greet):
        return DONE
    say(of_servers("no_workers"), sys.stderr)
    return BAD


def app_of(homes: str, users: Path, clock: Clock, rate: Rate) -> Sanic[Any, Any]:
    """The desk's server of one worker."""
    from assistant.channels.desk.app import make_app
    from assistant.channels.desk.desk import Desk
    from assistant.homes.homes import open_homes

    return make_app(Desk(open_homes(homes), Users(users), clock), rate=rate)
