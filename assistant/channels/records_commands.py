"""`bagside log | export | backup | restore | check | handoff | week`: the records from the command line.

Exit codes: 0 done, 2 usage or a bad plan, 3 household data unreadable. Loads no spaCy before a handover needs it.
"""

from __future__ import annotations

import argparse
import csv
import io
import json
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from assistant.channels.command_line import BAD, DONE, run, say, words
from assistant.household.home import RECORDS, Home, find_home, open_home
from assistant.household.safe_file import write_whole

UNREADABLE = 3


def main(argv: list[str]) -> int:
    """Run one command; `argv` begins with its name. Gives the exit code and raises nothing."""
    try:
        return run(_parser(), argv)
    except ValueError as fault:  # a time or an amount that cannot be read, said in one line
        say(str(fault), sys.stderr)
        return BAD


def _parser() -> argparse.ArgumentParser:
    from assistant.channels import log_commands, report_commands, standard_exports

    parser = argparse.ArgumentParser(prog="bagside")
    commands = parser.add_subparsers(dest="command", required=True)

    def command(name: str, run: Callable[[argparse.Namespace], int], under: Any = commands) -> argparse.ArgumentParser:
        made: argparse.ArgumentParser = under.add_parser(name)
        made.add_argument("--home", metavar="DIR")
        made.set_defaults(run=run)
        return made

    log_commands.add_to(commands.add_parser("log").add_subparsers(dest="what", required=True), command)
    report_commands.add_to(command)
    one = command("export", _export)
    one.add_argument("file", nargs="?", help="- or nothing: standard output")
    form = one.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="JSON instead of CSV")
    standard_exports.add_to(one, form)
    command("backup", _backup).add_argument("file")
    one = command("restore", _restore)
    which = one.add_mutually_exclusive_group(required=True)
    which.add_argument("file", nargs="?")
    which.add_argument("--fresh", action="store_true", help="start new records; the old ones are kept beside")
    command("check", _check)
    return parser


def records_of(home: Home) -> Path:
    """The records, which must be there: HouseholdUnreadable where there is no folder yet."""
    return home.folder / RECORDS


def _missing(home: Home) -> bool:
    if records_of(home).exists():
        return False
    say(words("no_records", folder=home.folder), sys.stderr)
    return True


def _backup(args: argparse.Namespace) -> int:
    from assistant.household.backup import backup

    home, to = find_home(args.home), Path(args.file)
    if _missing(home):
        return BAD
    try:
        held = backup(records_of(home), to)
    except FileExistsError:
        say(words("backup_there", file=to), sys.stderr)
        return BAD
    say(words("backed_up", file=to, events=held))
    return DONE


def _restore(args: argparse.Namespace) -> int:
    from assistant.household.backup import NoBackup, restore

    home, file = open_home(args.home), None if args.fresh else Path(args.file)
    try:
        held, kept = restore(records_of(home), file, datetime.now(UTC))
    except NoBackup:
        say(words("bad_backup", file=file), sys.stderr)
        return BAD
    name = "restored_new" if kept is None else "fresh" if file is None else "restored"
    say(words(name, file=file or "-", events=held, kept=kept))
    return DONE


def _check(args: argparse.Namespace) -> int:
    home = find_home(args.home)
    if _missing(home):
        return BAD
    store = home.store()
    store.check()
    say(words("in_order", events=len(store.events())))
    return DONE


def _export(args: argparse.Namespace) -> int:
    from assistant.channels import standard_exports

    if (fault := standard_exports.misused(args)) is not None:
        say(fault, sys.stderr)
        return BAD
    if args.rasa:
        return standard_exports.rasa(args)
    if args.calendar:
        return standard_exports.calendar(args)
    home = find_home(args.home)
    if _missing(home):
        return BAD
    if args.fhir:
        return standard_exports.fhir(args)
    rows = [row(event) for event in home.store().events(undone=True)]
    if args.json:
        text = json.dumps(rows, ensure_ascii=False, indent=1) + "\n"
    else:
        made = io.StringIO()
        writer = csv.DictWriter(made, list(COLUMNS), lineterminator="\r\n")  # RFC 4180
        writer.writeheader()
        writer.writerows(rows)
        text = made.getvalue()
    if args.file in (None, "-"):
        sys.stdout.write(text)
        return DONE
    return write_file(Path(args.file), text, rows=len(rows))


COLUMNS = ("id", "at", "event", "volume_mL", "rate_mL_h", "feed", "note", "said", "told_at", "replaces",
           "taken_back_at")


def row(event: Any) -> dict[str, Any]:
    """One entry as it is exported: instants ISO 8601 in UTC, amounts exact; entries taken back are there, marked."""
    amounts = [None if a is None else f"{a.magnitude:f}" for a in (event.volume, event.rate)]
    values = (event.id, event.at.isoformat(), event.kind, *amounts, event.feed, event.note, event.said,
              event.recorded_at.isoformat(), event.replaces, event.undone_at and event.undone_at.isoformat())
    return dict(zip(COLUMNS, values, strict=True))


def write_file(path: Path, text: str, rows: int | None = None) -> int:
    """Write a file whole or not at all; 2 and one line where it cannot be written."""
    try:
        write_whole(path, text.encode("utf-8"), replace=True)
    except OSError as fault:
        say(words("unwritable", file=path, fault=fault.strerror or fault), sys.stderr)
        return BAD
    say(words("exported", file=path, rows=rows) if rows is not None else words("written", file=path))
    return DONE
