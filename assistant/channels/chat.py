"""`bagside chat`: talk in the terminal. The answer first and large enough; "why" shows the working."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import Any

from assistant.household.care_plan import read_plan
from assistant.household.home import open_home
from assistant.household.kept import Kept
from assistant.household.plan_faults import PlanFaults
from assistant.household.unreadable import HouseholdUnreadable
from assistant.session import NoSuchNow, Session, instant
from knowledge.library import table

COLOURS = {"emergency": "bold white on red", "urgent": "bold black on yellow"}


def main(plan: str | None, home: str | None, now: str | None) -> int:
    """Until an empty input stream or "bye". Exit codes as everywhere."""
    try:
        kept, care_plan = None, None
        if plan is not None:
            care_plan = read_plan(Path(plan))
        else:
            folder = open_home(home)
            care_plan, kept = folder.plan(), Kept(folder.store())
        fixed = instant(now, care_plan) if now else None
    except (PlanFaults, NoSuchNow) as fault:
        print("\n".join(fault.lines()) if isinstance(fault, PlanFaults) else fault, file=sys.stderr)
        return 2
    except HouseholdUnreadable as fault:
        print(fault, file=sys.stderr)
        return fault.exit_code
    try:
        return _talk(Session(care_plan, kept=kept, now=fixed), fixed)
    finally:
        if kept is not None:
            kept.close()


def _talk(session: Session, fixed: datetime | None) -> int:
    from rich.console import Console

    console, lines = Console(), table("sentences_en")["chat"]
    console.print(lines["hello"])
    while True:
        try:
            text = console.input("[bold]> [/bold]")
        except (EOFError, KeyboardInterrupt):
            return 0
        if text.strip().lower() in ("bye", "quit", "exit"):
            return 0
        show(console, session.say(text, fixed or instant(None, session.plan)))


def show(console: Any, record: dict[str, Any]) -> None:
    """First line large, the rest plain. A level is named in words, not by colour alone."""
    from rich.text import Text

    first, _, rest = record["text"].partition("\n")
    label = table("sentences_en")["chat"]["levels"].get(record["level"], "")
    console.print(Text(f"{label}{first}", style=COLOURS.get(record["level"], "bold")))
    if rest:
        console.print(Text(rest))
    console.print()
