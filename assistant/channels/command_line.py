"""What every command of `bagside` that is no talk does alike: read its words, run, and say a fault in one line."""

from __future__ import annotations

import argparse
import os
import sys
from typing import Any, TextIO

from assistant.household.plan_faults import PlanFaults
from assistant.household.unreadable import HouseholdUnreadable
from knowledge.library import table

DONE, BAD = 0, 2


def run(parser: argparse.ArgumentParser, argv: list[str]) -> int:
    """Run the command that `argv` names. Gives its exit code; a fault of plan, records or input is one line."""
    try:
        args = parser.parse_args(argv)
    except SystemExit as left:  # argparse has said why
        return int(left.code or 0)
    try:
        code: int = args.run(args)
        sys.stdout.flush()
        return code
    except PlanFaults as faults:
        for line in faults.lines():
            say(line, sys.stderr)
        return BAD
    except HouseholdUnreadable as unreadable:
        say(str(unreadable), sys.stderr)
        if unreadable.code == "damaged":
            say(words("way_out", folder=unreadable.folder), sys.stderr)
        return unreadable.exit_code
    except BrokenPipeError:  # the reader of our output has gone: `bagside plan show | head`
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE


def say(text: str, to: TextIO | None = None) -> None:
    """Print one line, whatever signs the terminal knows: what it cannot show is shown as its code."""
    out = to or sys.stdout
    coding = out.encoding or "utf-8"
    print(text.encode(coding, "backslashreplace").decode(coding), file=out)


def words(name: str, **facts: Any) -> str:
    """One of the sentences about a household's records, filled in."""
    return str(table("sentences_en")["records"][name]).format(**facts)
