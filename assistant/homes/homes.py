"""Homes by their code. Every key begins with the home; only the desk's two lists look across homes."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Protocol

from assistant.homes.sign_ins import SignIns
from assistant.household.care_plan import CarePlan
from assistant.household.plan_reader import read_values
from assistant.household.store import Store
from assistant.household.unreadable import HouseholdUnreadable

CODE = re.compile(r"[A-Z0-9][A-Z0-9-]{0,31}")
DESK = "DESK"  # the desk's own book: who signed in; no home may have this code
LISTED = 50  # lines of a list
POSTGRES = ("postgresql://", "postgres://")
URGENCY = ("emergency", "urgent", "same_day", "routine", "none")  # the most urgent first
NOTE, CALL_BACK, OPENED = "note", "call_back", "opened"


@dataclass(frozen=True)
class Listed:
    """A home in the desk's list."""

    code: str
    nickname: str
    plan_since: datetime


@dataclass(frozen=True)
class Entry:
    """One entry of the desk's book about a home: a note, a call to make, or who opened or did what. Never changed,
    but a call to make is closed once."""

    home: str
    id: int
    at: datetime
    by: str
    kind: str
    level: str = "none"
    text: str = ""
    due: datetime | None = None
    done_at: datetime | None = None
    done_by: str | None = None


class Homes(Protocol):
    """Every method raises HouseholdUnreadable where the records cannot be reached; `no_home` for a code nobody has."""

    @property
    def sign_ins(self) -> SignIns:
        """Who is signed in at the desk."""

    def find(self, text: str, most: int = LISTED) -> list[Listed]:
        """Homes whose code or nickname begins so, by code; an empty text finds the first of all."""

    def put_plan(self, home: str, data: bytes, at: datetime) -> None:
        """Take a plan into use, the home made if it is new; the plan before is kept. Raises PlanFaults."""

    def plan_data(self, home: str) -> bytes:
        """The plan in use as it was given."""

    def plan(self, home: str) -> CarePlan:
        """The plan in use. Raises PlanFaults where a file was changed by hand and is now faulty."""

    def store(self, home: str) -> Store:
        """The home's records. Whoever got them lets go with `close`."""

    def write(self, entry: Entry) -> int:
        """Write an entry of the desk's book; its id (that of `entry` counts for nothing)."""

    def entries(self, home: str, kinds: tuple[str, ...] = (), most: int = LISTED) -> list[Entry]:
        """The newest entries about one home (of these kinds), newest first."""

    def open_call_backs(self, most: int = LISTED) -> list[Entry]:
        """Calls still to make, the most urgent first, then by the time they are due."""

    def close_call_back(self, home: str, number: int, at: datetime, by: str) -> bool:
        """A call was made. False where it was not open any more: somebody else has closed it."""

    def close(self) -> None:
        """Let go of this thread's connection."""


def good_code(text: str) -> str:
    """A home's code as it is kept: upper case. Raises HouseholdUnreadable `no_home` for what can be none."""
    code = text.strip().upper()
    if not CODE.fullmatch(code) or code == DESK:
        raise HouseholdUnreadable("no_home", code[:32] if code.isprintable() else "?")
    return code


def checked_plan(data: bytes, home: str) -> CarePlan:
    """The plan in these bytes. Raises PlanFaults."""
    from assistant.household.plan_file import care_plan

    return care_plan(read_values(data, home), None)


def open_homes(where: str) -> Homes:
    """The homes of a database ("postgresql://...") or of a folder. Raises HouseholdUnreadable."""
    if where.startswith(POSTGRES):
        from assistant.homes.postgres import PostgresHomes

        return PostgresHomes(where)
    from assistant.homes.folder import FolderHomes

    return FolderHomes(Path(where))
