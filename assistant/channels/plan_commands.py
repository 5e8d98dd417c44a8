"""`bagside plan check | show | new | use | import`. Loads no spaCy, Pint or sqlite-utils: it must answer at once.

Exit codes: 0 done, 2 usage or a bad plan (one line a fault), 3 household data unreadable.
"""

from __future__ import annotations

import argparse
import json
import sys
from datetime import datetime
from pathlib import Path
from typing import Any

from assistant.channels.command_line import BAD, DONE, run, say
from assistant.channels.plan_new import write_new_plan
from assistant.household.home import find_home, open_home, use_plan
from assistant.household.plan_checks import date_warnings
from assistant.household.plan_faults import PlanFaults
from assistant.household.plan_reader import Values, plan_bytes, read_values
from assistant.household.plan_words import sentence
from assistant.household.plan_writer import plain, rows
from knowledge.library import table


def main(argv: list[str]) -> int:
    """Run one plan command; `argv` is what follows `bagside plan`. Gives the exit code and raises nothing."""
    return run(_parser(), argv)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="bagside plan", description=sentence("usage", "plan"))
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    check = commands.add_parser("check", help=sentence("usage", "check"))
    check.add_argument("files", nargs="+", metavar="FILE")
    check.set_defaults(run=_check)

    show = commands.add_parser("show", help=sentence("usage", "show"))
    place = show.add_mutually_exclusive_group()
    place.add_argument("--plan", metavar="FILE", help=sentence("usage", "plan_file"))
    place.add_argument("--home", metavar="DIR", help=sentence("usage", "home"))
    show.add_argument("--json", action="store_true", help=sentence("usage", "json"))
    show.set_defaults(run=_show)

    new = commands.add_parser("new", help=sentence("usage", "new"))
    new.add_argument("file", metavar="FILE")
    new.set_defaults(run=lambda args: write_new_plan(Path(args.file), sys.stdin, say))

    use = commands.add_parser("use", help=sentence("usage", "use"))
    use.add_argument("file", metavar="FILE")
    use.add_argument("--home", metavar="DIR", help=sentence("usage", "home"))
    use.set_defaults(run=_use)

    order = commands.add_parser("import", help=usage("import"))
    order.add_argument("order", metavar="ORDER.json", help=usage("order"))
    order.add_argument("file", metavar="PLAN.toml", nargs="?", help=usage("file"))
    order.add_argument("--yes", action="store_true", help=usage("yes"))
    order.set_defaults(run=_import)
    return parser


def usage(name: str) -> str:
    return str(table("fhir_en")["usage"][name])


def _import(args: argparse.Namespace) -> int:
    from assistant.channels.plan_import import import_order

    return import_order(Path(args.order), Path(args.file) if args.file else None, args.yes, sys.stdin, say)


def _check(args: argparse.Namespace) -> int:
    """Every file is checked, and every fault of every file is said."""
    code = DONE
    for file in args.files:
        try:
            values = read_values(plan_bytes(Path(file)), file)
        except PlanFaults as faults:
            code = BAD
            for line in faults.lines():
                say(line)
            continue
        feeds = len(values["feeds"])
        say(sentence("says", "good" if feeds > 1 else "good_one_feed", file=file, feeds=feeds,
                     route=values["route"], energy=values["formula"]["energy"].text()))
        for _, line in _warnings(values):
            say(f"{file}: {line}")
    return code


def _show(args: argparse.Namespace) -> int:
    if args.plan:
        path = Path(args.plan)
        data = plan_bytes(path)
    else:
        home = find_home(args.home)
        path = home.plan_path
        found = home.plan_data()
        if found is None:
            say(sentence("says", "none_in_home", home=home.folder), sys.stderr)
            return BAD
        data = found
    values = read_values(data, str(path))
    warned = _warnings(values)
    if args.json:
        record: dict[str, Any] = {"path": str(path), "warnings": [code for code, _ in warned], "plan": plain(values)}
        say(json.dumps(record, ensure_ascii=False))
        return DONE
    say(sentence("says", "heading_plan", path=path))
    for _, line in warned:
        say(line)
    for line in shown(values):
        say(line)
    return DONE


def shown(values: Values) -> list[str]:
    """The plan as aligned lines, one key a line."""
    found = list(rows(values))
    width = max(len(key) for key, _ in found)
    return [f"{key:<{width}}  {text}" for key, text in found]


def _use(args: argparse.Namespace) -> int:
    file = Path(args.file)
    read_values(plan_bytes(file), str(file))        # a bad plan makes no folder
    taken = use_plan(open_home(args.home), file)
    say(sentence("says", "used" if taken.changed else "used_already", path=taken.path))
    if taken.kept is not None:
        say(sentence("says", "kept", path=taken.kept))
    return DONE


def _warnings(values: Values) -> list[tuple[str, str]]:
    """Code and sentence of each warning, for today in the plan's zone."""
    today = datetime.now(values["timezone"]).date()
    days = {"past_review": values.get("review_by"), "not_yet_issued": values.get("issued")}
    codes = date_warnings(values.get("issued"), values.get("review_by"), today)
    return [(code, sentence("warnings", code, day=days[code])) for code in codes]
