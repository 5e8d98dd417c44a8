"""`bagside wyoming`: for a home voice hub, by the open Wyoming protocol. On this computer unless --host says else."""

from __future__ import annotations

import argparse
import asyncio
import functools
import sys
from datetime import datetime
from importlib.metadata import version
from pathlib import Path
from typing import Any

from assistant.channels.chat import checked
from assistant.channels.command_line import BAD, DONE, run, say
from assistant.household.care_plan import read_plan
from assistant.household.home import find_home
from assistant.session import NoSuchNow, Session, instant
from assistant.voice.missing import Missing
from knowledge.library import table

PORT = 10_614


def main(argv: list[str]) -> int:
    """Serve until Ctrl-C. Exit codes as everywhere; 2 also where a part of the voice is missing."""
    parser = argparse.ArgumentParser(prog="bagside wyoming", description="Serve a home voice hub (Wyoming protocol).")
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--plan", metavar="FILE")
    where.add_argument("--home", metavar="DIR")
    parser.add_argument("--now", metavar="ISO8601")
    parser.add_argument("--host", default="127.0.0.1", help="another address lets others in the home network ask")
    parser.add_argument("--port", type=int, default=PORT)
    parser.add_argument("--asr", action="store_true", help="also turn speech into words, by both recognisers")
    parser.add_argument("--tts", action="store_true", help="also speak")
    parser.add_argument("--model", metavar="DIR", type=Path)
    parser.add_argument("--piper", metavar="FILE", type=Path)
    parser.set_defaults(run=_run)
    return run(parser, argv)


def _run(args: argparse.Namespace) -> int:
    words = table("voice_en")["terminal"]
    try:
        hub = _hub(args)
        asyncio.run(_serve(hub, args))
    except (Missing, NoSuchNow) as fault:
        say(str(fault), sys.stderr)
        return BAD
    except (OSError, OverflowError) as fault:
        say(words["port_taken"].format(port=args.port, why=getattr(fault, "strerror", None) or fault), sys.stderr)
        return BAD
    except KeyboardInterrupt:
        pass
    return DONE


async def _serve(hub: Any, args: argparse.Namespace) -> None:
    from wyoming.server import AsyncTcpServer

    from assistant.voice.hub import Connection

    server = AsyncTcpServer(args.host, args.port)
    await server.start(functools.partial(Connection, hub))
    served = ", ".join(name for name in ("handle", "asr", "tts") if name == "handle" or getattr(args, name))
    address = f"{args.host}:{args.port}"
    say(table("voice_en")["terminal"]["serving"].format(address=address, programs=served))
    sys.stdout.flush()
    await asyncio.Event().wait()


def _hub(args: argparse.Namespace) -> Any:
    """The hub over the household, or over a plan alone. Raises Missing where a part that was asked for is not there."""
    try:
        from assistant.voice.hub import Hub
    except ImportError:
        raise Missing("package", package="wyoming") from None
    from assistant.voice.ears import open_ears
    from assistant.voice.mouth import Mouth

    folder = None if args.plan else find_home(args.home)
    living = folder is not None and folder.folder.exists()
    plan = read_plan(Path(args.plan)) if args.plan else folder.plan() if folder is not None and living else None
    fixed = instant(args.now, plan) if args.now else None

    def clock() -> datetime:
        return fixed or instant(None, plan)

    @functools.cache  # one connection to the records, made in the thread that uses it
    def kept() -> Any:
        from assistant.household.kept import Kept

        assert folder is not None
        return Kept(folder.store())

    def opened(name: str) -> Session:
        if not living:
            return Session(plan, now=clock(), sender=f"wyoming {name}")
        return Session(plan, kept=kept(), sender=f"wyoming {name}", now=clock(), unusable=checked(kept()))

    ears = open_ears(args.model) if args.asr else None
    return Hub(opened, clock, ears, Mouth(args.piper) if args.tts else None, version("bagside"))
