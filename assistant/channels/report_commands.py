"""`bagside handoff` and `bagside week`: what the log and the plan say, for the next carer, the nurse line, the week."""

from __future__ import annotations

import argparse
import html
import json
import sys
from collections.abc import Callable
from datetime import datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from assistant.channels.command_line import DONE, say
from assistant.household.home import find_home
from knowledge.library import table

BAR = 10  # signs of a full bar in the terminal


def add_to(command: Callable[..., argparse.ArgumentParser]) -> None:
    one = command("handoff", _handoff)
    one.add_argument("--nurse", action="store_true", help="for the nurse line: situation, background, figures, request")
    form = one.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true")
    form.add_argument("--print", metavar="FILE", dest="page", help="a page to print (HTML)")
    form.add_argument("--pdf", metavar="FILE", help="a page to print (PDF)")
    one.add_argument("--paper", choices=["A4", "Letter"], default="A4", help="with --pdf")
    one.add_argument("--now", metavar="ISO8601")
    one = command("week", _week)
    one.add_argument("--svg", metavar="FILE")
    one.add_argument("--json", action="store_true")
    one.add_argument("--now", metavar="ISO8601")


def night_of(home_folder: str | None, at: str | None) -> tuple[Any, dict[str, Any] | None]:
    """The household as it stands, and the conversation with it."""
    from assistant.household.kept import Kept
    from assistant.night import Night
    from assistant.session import instant

    home = find_home(home_folder)
    plan = home.plan()
    now = instant(at, plan)
    if not home.folder.exists():
        return Night(plan, now), None
    kept = Kept(home.store())
    zone: Any = now.tzinfo
    return Night(plan, now, kept.events(now, zone), kept.reminders(zone)), kept.conversation("household")


def _handoff(args: argparse.Namespace) -> int:
    from assistant.actions.handoff import in_words
    from assistant.channels.records_commands import write_file
    from assistant.paper.handover import next_carer, nurse_line

    night, talk = night_of(args.home, args.now)
    lines = nurse_line(night, (talk or {}).get("text")) if args.nurse else next_carer(night)
    if args.json:
        made = {"now": night.now.isoformat(), "for": "nurse line" if args.nurse else "next carer"}
        say(json.dumps({**made, "lines": [line.plain(night) for line in lines]}, ensure_ascii=False))
        return DONE
    text = in_words(lines, night, args.nurse) if lines else table("handover_en")["titles"]["empty"]
    if args.page is None and args.pdf is None:
        say(text)
        return DONE
    title, *rest = text.splitlines()
    body = [f"<h1>{html.escape(title)}</h1>"]
    body += [f"<p>{html.escape(r.strip())}</p>" if r.startswith(" ") else f"<h2>{html.escape(r)}</h2>" for r in rest]
    page = table("handover_en")["titles"]["page"].format(title=html.escape(title), body="".join(body))
    if args.pdf is not None:
        return _write_pdf(page, args.pdf, args.paper)
    return write_file(Path(args.page), page)


def _write_pdf(page: str, file: str, paper: str) -> int:
    from assistant.channels.sheet_command import Unusable, hand_over_pdf

    try:
        hand_over_pdf(page, file, paper)
    except Unusable as fault:
        say(str(fault), sys.stderr)
        return fault.code
    return DONE


def days_of(night: Any) -> tuple[Any, ...]:
    from assistant.household.day_log import feeds_since, planned_day, planned_flushes
    from rules.clock import midnight
    from rules.week import week

    states = feeds_since(night, midnight(night.now) - timedelta(days=7))
    return week(states, night.events, today=night.today, zone=night.now.tzinfo, planned=planned_day(night),
                flushes=planned_flushes(night))


def _week(args: argparse.Namespace) -> int:
    night, _ = night_of(args.home, args.now)
    days = days_of(night)
    if args.json:
        say(json.dumps([_plain(day) for day in days]))
        return DONE
    if args.svg is not None:
        from assistant.channels.records_commands import write_file
        from assistant.channels.week_picture import picture

        return write_file(Path(args.svg), picture(days))
    _table(days, night.now)
    return DONE


def _plain(day: Any) -> dict[str, Any]:
    from assistant.wording.record import plain_value

    amounts = {n: None if (v := getattr(day, n)) is None else plain_value(v) for n in ("given", "planned", "water")}
    return {"day": day.on.isoformat(), **amounts, "feeds": day.feeds, "flushes": day.flushes,
            "missed_flushes": None if day.missed is None else float(day.missed), "vomited": day.vomited,
            "symptoms": day.symptoms, "told": day.told}


def cells(day: Any) -> list[str]:
    """A day's row in words; what is not known is said so, never a nought."""
    from assistant.wording.show import amount, plain_number
    from assistant.wording.show import day as dated

    lines = table("handover_en")["week"]
    if not day.told:
        planned = lines["no_plan"] if day.planned is None else amount(day.planned)
        return [dated(day.on), "", lines["nothing"], planned, *([lines["none"]] * 4)]
    given = lines["none"] if not day.feeds else lines["unknown"] if day.given is None else amount(day.given)
    bar = "" if day.share is None else "█" * int(min(day.share, Decimal("1.25")) * BAR)
    return [dated(day.on), bar, given, lines["no_plan"] if day.planned is None else amount(day.planned),
            amount(day.water), lines["none"] if day.missed is None else plain_number(day.missed), str(day.vomited),
            str(day.symptoms)]


def _table(days: tuple[Any, ...], now: datetime) -> None:
    from rich import box
    from rich.console import Console
    from rich.table import Table

    from assistant.wording.show import day as dated

    lines = table("handover_en")["week"]
    title = lines["title"].format(first=dated(days[0].on), last=dated(days[-1].on))
    shown = Table(title=title, caption=lines["by_start"], box=box.SIMPLE_HEAD)
    for i, column in enumerate(lines["columns"]):
        shown.add_column(column, justify="left" if i < 2 else "right", no_wrap=True)
    for day in days:
        shown.add_row(*cells(day))
    Console().print(shown)
