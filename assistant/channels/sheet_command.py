"""`bagside sheet`: the household's one-page sheet as HTML, to the screen or to a file."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path

from assistant.household.care_plan import read_plan
from assistant.household.home import open_home
from assistant.household.plan_faults import PlanFaults
from assistant.household.safe_file import write_whole
from assistant.household.unreadable import HouseholdUnreadable
from assistant.night import Night
from assistant.session import NoSuchNow, instant
from knowledge.library import table


class Unusable(Exception):
    """Nothing to work with; the message is for the user, `code` is the exit code."""

    def __init__(self, message: str, code: int = 2) -> None:
        super().__init__(message)
        self.code = code


def main(
    plan: str | None, home: str | None, now: str | None, address: str | None, out: str | None, paper: str | None = None
) -> int:
    """Write the sheet, as PDF where a paper is named; 2 for a bad plan, address, time or file (said on standard
    error), 3 unreadable records."""
    from assistant.paper.sheet import BadAddress, household_sheet

    try:
        made = household_sheet(night_of(plan, home, now), address)
        if paper is None:
            hand_over(made, out)
        else:
            hand_over_pdf(made, out, paper)
    except (Unusable, BadAddress) as fault:
        print(fault, file=sys.stderr)
        return getattr(fault, "code", 2)
    return 0


def night_of(plan: str | None, home: str | None, now: str | None) -> Night:
    """Plan and instant of a command. Raises Unusable, with every fault of a bad plan."""
    try:
        read = read_plan(Path(plan)) if plan is not None else open_home(home).plan()
        if read is None:
            raise Unusable(table("sheet_en")["command"]["no_plan"])
        at: datetime = instant(now, read)
    except (PlanFaults, NoSuchNow) as fault:
        raise Unusable("\n".join(fault.lines()) if isinstance(fault, PlanFaults) else str(fault)) from None
    except HouseholdUnreadable as fault:
        raise Unusable(str(fault), fault.exit_code) from None
    return Night(read, at)


def hand_over(made: str, out: str | None) -> None:
    """To the screen, or whole into a file that only its owner reads. Raises Unusable."""
    if out is None:
        print(made)
        return
    _write(out, made.encode("utf-8"), "written")


def hand_over_pdf(made: str, out: str | None, paper: str) -> None:
    """The page on that paper into a file. Raises Unusable: no file named, not installed, not written."""
    from assistant.paper.pdf import NoPdf, pdf

    if out is None:
        raise Unusable(table("sheet_en")["command"]["pdf_file"])
    try:
        _write(out, pdf(made, paper), "written_pdf")
    except NoPdf:
        raise Unusable(table("sheet_en")["command"]["no_pdf"]) from None


def _write(out: str, data: bytes, said: str) -> None:
    lines = table("sheet_en")["command"]
    try:
        write_whole(Path(out), data, replace=True)
    except OSError as fault:
        raise Unusable(lines["not_written"].format(file=out, fault=fault)) from None
    print(lines[said].format(file=out))
