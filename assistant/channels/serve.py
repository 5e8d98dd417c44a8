"""`bagside serve`: the page in the browser, from this computer. With --lan phones of the home may pair."""

from __future__ import annotations

import argparse
import logging
import os
import socket
import sys
import threading
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from assistant.channels.command_line import BAD, DONE, run, say
from assistant.household.care_plan import CarePlan, read_plan
from assistant.household.home import Home, open_home
from assistant.household.safe_file import OWNER_ONLY
from assistant.session import NoSuchNow, instant
from knowledge.library import table

if TYPE_CHECKING:  # the server's libraries are loaded only when it is started
    from sanic import Sanic

    from assistant.channels.web.guard import Rate
    from assistant.channels.web.household import Clock
    from assistant.channels.web.pairing import Pairing
    from assistant.channels.workers import Secured

HERE, EVERYWHERE, PORT = "127.0.0.1", "0.0.0.0", 8614
LOG_FILE = "serve.log"
NOWHERE = ("192.0.2.1", 9)  # RFC 5737: an address that is nobody's; asking for the way there sends nothing


def main(argv: list[str]) -> int:
    """Until Ctrl-C. 2 for a bad plan, port, address or certificate."""
    parser = argparse.ArgumentParser(prog="bagside serve", description="The page in the browser, from this computer.")
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--home", metavar="DIR")
    where.add_argument("--plan", metavar="FILE", help="answer from this plan; nothing is written")
    parser.add_argument("--host", help=f"the address to listen at ({HERE}; with --lan all of this computer's)")
    parser.add_argument("--port", type=int, default=PORT, help=f"{PORT}; 0 takes a free one")
    parser.add_argument("--now", metavar="ISO8601", help="begin at this moment and go on from there (to practise)")
    parser.add_argument("--workers", type=int, default=1, metavar="N", help="processes that answer (1)")
    parser.add_argument("--lan", action="store_true", help="let phones on the home network pair")
    parser.add_argument("--tls-cert", metavar="FILE")
    parser.add_argument("--tls-key", metavar="FILE")
    parser.add_argument("--phones", action="store_true", help="list the paired phones and end")
    parser.add_argument("--unpair", metavar="NUMBER", help='forget a paired phone by its number, or "all", and end')
    parser.set_defaults(run=_run)
    return run(parser, argv)


def words(name: str, /, **facts: Any) -> str:
    return str(table("page_en")["serve"][name]).format(**facts)


def _run(args: argparse.Namespace) -> int:
    from assistant.channels.web.guard import Rate
    from assistant.channels.web.household import Clock
    from assistant.channels.web.pairing import Pairing

    home = None if args.plan else open_home(args.home)
    pairing = Pairing(home.folder if home else None)
    if args.phones or args.unpair:
        return _phones(pairing, args.unpair)
    host = args.host or (EVERYWHERE if args.lan else HERE)
    try:
        plan = read_plan(Path(args.plan)) if home is None else home.plan()
        begin = None if args.now is None else instant(args.now, plan)
        if not args.lan and not loopback(host):
            raise ValueError(words("only_lan"))
        secured = tls(args.tls_cert, args.tls_key)
        several(args.workers, home is not None)
        door = listening(host, args.port)
    except (NoSuchNow, ValueError) as fault:
        say(str(fault), sys.stderr)
        return BAD
    if home and args.workers > 1:
        faults_to(home.folder / LOG_FILE)  # here the workers are watched; each notes its own faults, too
    make = partial(app_of, home.folder if home else plan, Clock(begin), Rate(shared=args.workers > 1),
                   None if home else pairing)
    return _serve(args, make, pairing, door, secured)


def app_of(
    what: Path | CarePlan | None, clock: Clock, rate: Rate, pairing: Pairing | None = None
) -> Sanic[Any, Any]:
    """The server of one worker: of the household in a folder, or of a plan alone."""
    from assistant.channels.web.app import make_app
    from assistant.channels.web.household import Household
    from assistant.channels.web.pairing import Pairing

    folder = what if isinstance(what, Path) else None
    faults_to(None if folder is None else folder / LOG_FILE)
    home = None if folder is None else Home(folder)
    plan = what if isinstance(what, CarePlan) else home.plan() if home else None
    return make_app(Household(home, plan, clock), pairing or Pairing(folder), rate=rate)


def _serve(
    args: argparse.Namespace, make: Callable[[], Sanic[Any, Any]], pairing: Pairing, door: socket.socket,
    secured: Secured | None,
) -> int:
    from assistant.channels.workers import serve

    port, scheme = door.getsockname()[1], "https" if secured else "http"

    def greet() -> None:
        shown = HERE if door.getsockname()[0] == EVERYWHERE else door.getsockname()[0]
        say(words("hello", address=f"{scheme}://{_in_brackets(shown)}:{port}/"))
        if args.lan:
            _invite(pairing, f"{scheme}://{_in_brackets(args.host or _own_address())}:{port}", secured is not None)
        sys.stdout.flush()

    if args.lan and sys.stdin is not None and sys.stdin.isatty():
        threading.Thread(target=_new_codes, args=(pairing,), daemon=True).start()
    try:
        served = serve(make, door, secured, args.workers, greet)
    finally:
        if args.lan:
            pairing.no_code()
    if not served:
        say(words("no_workers"), sys.stderr)
    return DONE if served else BAD


def faults_to(file: Path | None) -> None:
    """A fault of ours goes to a file in the household's folder (its owner's alone), never to the terminal."""
    log = logging.getLogger("bagside")
    log.propagate = False
    if file is None:
        log.addHandler(logging.NullHandler())
        return
    file.touch(mode=OWNER_ONLY)
    handler = logging.FileHandler(file, encoding="utf-8")
    handler.setFormatter(logging.Formatter("%(asctime)s %(levelname)s %(message)s"))
    log.addHandler(handler)


def _invite(pairing: Pairing, address: str, secured: bool) -> None:
    """The address, a code, and both as a picture to scan. The code stands behind "#": it is never sent by itself."""
    import segno

    code = pairing.new_code()
    if "//:" in address:
        say(f"{words('no_address')}\n{words('new_code', code=code)}")
        return
    say(words("lan", address=f"{address}/pair", code=code))
    segno.make(f"{address}/pair#{code}", error="m", micro=False).terminal(compact=True)
    if not secured:
        say(words("plain"))


def _new_codes(pairing: Pairing) -> None:
    """Each Enter at the terminal: a new code."""
    for _ in sys.stdin:
        say(words("new_code", code=pairing.new_code()))


def _phones(pairing: Pairing, unpair: str | None) -> int:
    if unpair is None:
        phones = pairing.phones()
        for phone in phones:
            say(words("phone", **phone))
        if not phones:
            say(words("no_phones"))
        return DONE
    if unpair != "all" and not unpair.isdecimal():
        say(words("no_phones"), sys.stderr)
        return BAD
    say(words("unpaired", count=pairing.unpair(None if unpair == "all" else int(unpair))))
    return DONE


def listening(host: str, port: int) -> socket.socket:
    """A socket that listens there. Raises ValueError, with a sentence for people."""
    try:
        if not 0 <= port <= 65535:
            raise OverflowError("0 to 65535")
        family, _, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM, flags=socket.AI_PASSIVE)[0]
        door = socket.socket(family, socket.SOCK_STREAM)
        try:
            door.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            door.bind(address)
        except OSError:
            door.close()
            raise
        return door
    except (OSError, OverflowError) as fault:
        raise ValueError(words("port", port=port, fault=getattr(fault, "strerror", None) or fault)) from None


def tls(cert: str | None, key: str | None) -> Secured | None:
    """The files of a certificate, tried. Raises ValueError, with a sentence for people."""
    from assistant.channels.workers import Secured

    if cert is None and key is None:
        return None
    if cert is None or key is None:
        raise ValueError(words("tls_both"))
    try:
        Secured(cert, key).context()
    except OSError as fault:
        raise ValueError(words("tls", fault=getattr(fault, "strerror", None) or fault)) from None
    return Secured(cert, key)


def several(workers: int, kept: bool) -> None:
    """Raises ValueError where so many workers cannot serve: without records they would share no conversation."""
    from assistant.channels.workers import MOST

    if not 1 <= workers <= (MOST if os.name == "posix" else 1):  # they share by locks of POSIX
        raise ValueError(words("workers", most=MOST))
    if workers > 1 and not kept:
        raise ValueError(words("workers_kept"))


def loopback(host: str) -> bool:
    return host in ("localhost", "::1") or host.startswith("127.")


def _own_address() -> str:
    """This computer's address on the home network; empty where it has none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(NOWHERE)
            return str(probe.getsockname()[0])
        except OSError:
            return ""


def _in_brackets(address: str) -> str:
    return f"[{address}]" if ":" in address else address
