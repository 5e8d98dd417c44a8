"""`bagside export --fhir | --calendar | --rasa`: the household's records and plan in open standards."""

from __future__ import annotations

import argparse
import json
import re
import sys
from datetime import timedelta
from pathlib import Path
from typing import Any

from assistant.channels.command_line import BAD, DONE, say, words
from assistant.fhir.to_plan import sentence
from assistant.household.safe_file import write_whole
from knowledge.library import table

REFERENCE = re.compile(r"[A-Za-z]{1,32}/[A-Za-z0-9.-]{1,64}")


def add_to(one: argparse.ArgumentParser, form: Any) -> None:
    """The options of `bagside export` that name a standard; `form` lets one of them stand."""
    form.add_argument("--fhir", choices=["R4", "R5"], help="what was given, as a FHIR bundle")
    form.add_argument("--calendar", metavar="FILE.ics", help="the plan's next days as iCalendar, with alarms")
    form.add_argument("--rasa", metavar="DIR", help="domain.yml, nlu.yml and rules.yml for a Rasa front end")
    one.add_argument("--days", type=int, metavar="N", help="with --fhir: the last N days (1 to 8, 7 when left out); "
                                                           "with --calendar: the next N (1 to 60, 14 when left out)")
    one.add_argument("--subject", metavar="REFERENCE", help="with --fhir: whose it is, such as Patient/12")
    one.add_argument("--now", metavar="ISO8601")


def misused(args: argparse.Namespace) -> str | None:
    """What is wrong with options that would have no effect: they are refused, not passed over."""
    if args.file is not None and (args.calendar or args.rasa):
        return sentence("export", "one_file")
    untimed = not (args.fhir or args.calendar) and (args.days is not None or args.now is not None)
    if untimed or (args.subject and not args.fhir):
        return sentence("export", "no_effect")
    return None


def fhir(args: argparse.Namespace) -> int:
    """Write the bundle to a file, or to standard output."""
    from assistant.channels.records_commands import write_file
    from assistant.channels.report_commands import night_of
    from assistant.fhir.delivered import bundle
    from assistant.household.home import find_home

    days = 7 if args.days is None else args.days
    if not 1 <= days <= 8:
        say(sentence("export", "days"), sys.stderr)
        return BAD
    if args.subject and not REFERENCE.fullmatch(args.subject):
        say(sentence("export", "bad_subject"), sys.stderr)
        return BAD
    night, _ = night_of(args.home, args.now)
    place = str(find_home(args.home).folder.resolve())
    made = bundle(night, night.now - timedelta(days=days), args.fhir, args.subject, place)
    text = json.dumps(made, ensure_ascii=False, indent=1) + "\n"
    if "entry" not in made:
        say(sentence("export", "nothing"), sys.stderr)
    if args.file in (None, "-"):
        sys.stdout.write(text)
        return DONE
    return write_file(Path(args.file), text)


def calendar(args: argparse.Namespace) -> int:
    """Write the plan's next days as an iCalendar file, and say what could not stand in it."""
    from assistant.channels.report_commands import night_of
    from assistant.household.home import find_home
    from assistant.paper.calendar_file import calendar_of, ics

    says, days = table("calendar_en")["says"], 14 if args.days is None else args.days
    night, _ = night_of(args.home, args.now)
    plan = night.plan
    if plan is None or not 1 <= days <= 60 or not any(feed.start for feed in plan.feeds):
        say(says["no_plan" if plan is None else "no_times" if 1 <= days <= 60 else "days"], sys.stderr)
        return BAD
    made = calendar_of(night, days)
    try:
        data = ics(night, made, str(find_home(args.home).folder.resolve()))
    except ImportError:
        say(says["not_installed"], sys.stderr)
        return BAD
    try:
        write_whole(Path(args.calendar), data, replace=True)
    except OSError as fault:
        say(words("unwritable", file=args.calendar, fault=fault.strerror or fault), sys.stderr)
        return BAD
    say(says["written"].format(file=args.calendar, entries=len(made.entries), days=days))
    for name, feeds in (("unknown", made.unknown), ("stepped", made.stepped)):
        if feeds:
            say(says[name].format(feeds=", ".join(feeds)))
    if plan.review_by is not None and plan.review_by < night.today:
        say(says["past_review"].format(day=plan.review_by))
    elif plan.review_by is not None and plan.review_by < (night.now + timedelta(days=days)).date():
        say(says["until_review"].format(day=plan.review_by))
    return DONE


def rasa(args: argparse.Namespace) -> int:
    """Write the three files of a Rasa front end; over files of its own only."""
    from assistant.rasa_export import NoPhrases, rasa_files

    says, folder = table("rasa_en")["says"], Path(args.rasa)
    try:
        made = rasa_files()
    except NoPhrases:
        say(says["no_phrases"], sys.stderr)
        return BAD
    file = folder
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for file in (folder / name for name in made.texts):
            if file.exists() and not file.read_bytes().startswith(f"# {says['header']}".encode()):
                say(says["not_ours"].format(file=file), sys.stderr)
                return BAD
        for name, text in made.texts.items():
            file = folder / name
            write_whole(file, text.encode("utf-8"), replace=True)
    except OSError as fault:
        say(says["unwritable"].format(file=file, fault=fault.strerror or fault), sys.stderr)
        return BAD
    say(says["written"].format(folder=folder, intents=made.intents, examples=made.examples, skipped=made.skipped))
    return DONE
