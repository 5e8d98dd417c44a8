"""`bagside chat`: talk in the terminal. The answer first and large enough; "why" shows the working."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable
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

PROMPT = "[bold]> [/bold]"
LOOKS_EVERY_S = 1.0
COLOURS = {"emergency": "bold white on red", "urgent": "bold black on yellow"}


def main(plan: str | None, home: str | None, now: str | None) -> int:
    """Until an empty input stream or "bye". Exit codes as everywhere."""
    try:
        kept, care_plan, unusable = None, None, None
        if plan is not None:
            care_plan = read_plan(Path(plan))
        else:
            folder = open_home(home)
            care_plan, kept = folder.plan(), Kept(folder.store())
            unusable = checked(kept)
        fixed = instant(now, care_plan) if now else None
    except (PlanFaults, NoSuchNow) as fault:
        print("\n".join(fault.lines()) if isinstance(fault, PlanFaults) else fault, file=sys.stderr)
        return 2
    except HouseholdUnreadable as fault:
        print(fault, file=sys.stderr)
        return fault.exit_code
    session = Session(care_plan, kept=kept, now=fixed, unusable=unusable)
    try:
        return _talk(session, fixed)
    finally:
        if kept is not None:
            kept.close()


def checked(kept: Kept) -> HouseholdUnreadable | None:
    """The check at the start: what is wrong with the records, if anything. The talk goes on from the plan."""
    try:
        kept.check()
    except HouseholdUnreadable as fault:
        return fault
    return None


def _talk(session: Session, fixed: datetime | None) -> int:
    from rich.console import Console

    console, lines = Console(), table("sentences_en")["chat"]
    console.print(lines["hello"])
    if session.fault is not None:
        console.print(str(session.fault))
        if session.fault.code == "damaged":
            console.print(table("sentences_en")["records"]["way_out"].format(folder=session.fault.folder))

    def clock() -> datetime:
        return fixed or instant(None, session.plan)

    with Bell(session, clock, console):
        while True:
            try:
                text = console.input(PROMPT)
            except (EOFError, KeyboardInterrupt):
                return 0
            if text.strip().lower() in ("bye", "quit", "exit"):
                return 0
            with session.busy:
                show(console, session.say(text, clock()))


class Bell:
    """Rings what is due while chat waits for input: the terminal's bell and a line. First what came due before."""

    def __init__(self, session: Session, clock: Callable[[], datetime], console: Any) -> None:
        self.session, self.clock, self.console = session, clock, console
        self.ended = threading.Event()
        self.thread = threading.Thread(target=self._watch, daemon=True)

    def __enter__(self) -> None:
        self.ring(table("sentences_en")["chat"]["was_due"])
        self.thread.start()

    def __exit__(self, *_: object) -> None:
        self.ended.set()
        self.thread.join(timeout=2 * LOOKS_EVERY_S)

    def _watch(self) -> None:
        while not self.ended.wait(LOOKS_EVERY_S):
            if self.ring(table("sentences_en")["chat"]["due"], "\n"):
                self.console.print(PROMPT, end="")

    def ring(self, words: str, before: str = "") -> int:
        """Say each reminder that is due, then note that it was said: killed in between, it rings once more."""
        from rich.text import Text

        with self.session.busy:
            try:
                now = self.clock()
                due = self.session.due(now)
                for one in due:
                    line = self.session.worded(words, datetime.fromisoformat(one["due"]), one["what"], now)
                    self.console.bell()
                    self.console.print(Text(f"{before}{line}", style="bold reverse"))
                    self.session.rang(one, now)
            except HouseholdUnreadable:
                return 0  # said at the start, and with every reply
        return len(due)


def show(console: Any, record: dict[str, Any]) -> None:
    """First line large, the rest plain. A level is named in words, not by colour alone."""
    from rich.text import Text

    first, _, rest = record["text"].partition("\n")
    label = table("sentences_en")["chat"]["levels"].get(record["level"], "")
    console.print(Text(f"{label}{first}", style=COLOURS.get(record["level"], "bold")))
    if rest:
        console.print(Text(rest))
    console.print()
