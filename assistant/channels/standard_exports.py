"""`bagside export --fhir | --calendar | --rasa`: the household's records and plan in open standards."""

from __future__ import annotations

import argparse
import json
import re
import sys
from datetime import timedelta
from pathlib import Path

from assistant.channels.command_line import BAD, DONE, say
from assistant.fhir.to_plan import sentence

REFERENCE = re.compile(r"[A-Za-z]{1,32}/[A-Za-z0-9.-]{1,64}")


def add_to(one: argparse.ArgumentParser) -> None:
    """The options of `bagside export` that name a standard."""
    one.add_argument("--fhir", choices=["R4", "R5"], help="what was given, as a FHIR bundle")
    one.add_argument("--days", type=int, default=7, metavar="N", help="with --fhir: of the last N days (1 to 8)")
    one.add_argument("--subject", metavar="REFERENCE", help="with --fhir: whose it is, such as Patient/12")
    one.add_argument("--now", metavar="ISO8601")


def fhir(args: argparse.Namespace) -> int:
    """Write the bundle to a file, or to standard output."""
    from assistant.channels.records_commands import write_file
    from assistant.channels.report_commands import night_of
    from assistant.fhir.delivered import bundle
    from assistant.household.home import find_home

    if not 1 <= args.days <= 8:
        say(sentence("export", "days"), sys.stderr)
        return BAD
    if args.subject and not REFERENCE.fullmatch(args.subject):
        say(sentence("export", "bad_subject"), sys.stderr)
        return BAD
    night, _ = night_of(args.home, args.now)
    place = str(find_home(args.home).folder.resolve())
    made = bundle(night, night.now - timedelta(days=args.days), args.fhir, args.subject, place)
    text = json.dumps(made, ensure_ascii=False, indent=1) + "\n"
    if "entry" not in made:
        say(sentence("export", "nothing"), sys.stderr)
    if args.file in (None, "-"):
        sys.stdout.write(text)
        return DONE
    return write_file(Path(args.file), text)
