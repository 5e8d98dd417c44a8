"""One home's records: feed log, conversations, reminders. What every store promises, whatever keeps it.

    store_sqlite.py             one file in the household's own folder; the embedded default
    ../homes/postgres_store.py  one home of a service, every key beginning with the home's code

Every method raises HouseholdUnreadable (exit code 3) where the records cannot be read or written now; nothing is ever
deleted or mended. Instants go in timezone-aware and come back in UTC; amounts go in as quantities and come back as
quantities in mL and mL/h. No method reaches beyond its own home.
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, Protocol

from rules.quantity import Quantity

REQUESTS_KEPT = timedelta(days=1)


@dataclass(frozen=True)
class LoggedEvent:
    """One thing that happened: `at` is when it happened, `recorded_at` when it was told, `said` the words."""

    id: int
    at: datetime
    kind: str                       # feed_started, paused, resumed, stopped, flushed, poured, vomited, ...
    volume: Quantity | None         # mL
    rate: Quantity | None           # mL/h
    feed: str | None
    note: str | None
    said: str | None
    recorded_at: datetime
    replaces: int | None = None     # the entry that this one puts right
    undone_at: datetime | None = None


@dataclass(frozen=True)
class Reminder:
    """`clock_time`: set for a time of day ("at nine"), else for a length of time ("in two hours")."""

    id: int
    due: datetime
    what: str
    clock_time: bool
    done_at: datetime | None


class Store(Protocol):
    """The records of one home. Ids count up within the home. May be shared by threads."""

    @property
    def where(self) -> Path | str:
        """For a person who has to look: the file, or the home."""

    def close(self) -> None:
        """Let go of this thread's connection."""

    def transaction(self) -> AbstractContextManager[Any]:
        """Everything written inside is on the disk afterwards, or nothing of it."""

    def marks(self, conversation: str) -> tuple[int, int]:
        """Two numbers that only grow, whoever writes: with each entry or reminder written, changed or closed, and with
        each turn of this conversation (0 for one that is new here)."""

    def check(self) -> None:
        """Read these records for damage."""

    def add_event(self, *, at: datetime, kind: str, recorded_at: datetime, volume: Quantity | None = None,
                  rate: Quantity | None = None, feed: str | None = None, note: str | None = None,
                  said: str | None = None, replaces: int | None = None) -> int:
        """Write one event; its id. It is on the disk when this returns (within a transaction: when that ends)."""

    def events(self, *, since: datetime | None = None, until: datetime | None = None,
               kind: str | None = None, undone: bool = False) -> list[LoggedEvent]:
        """Events in the order in which they happened; both ends are included. With `undone` also those taken back."""

    def undo(self, event: int, at: datetime) -> bool:
        """Take back one event by its id; it stays in the records, marked. False where it was not there."""

    def correct(self, event: int, told_at: datetime, **new: Any) -> int:
        """Put another event in the place of one, which stays, marked. `new` as for add_event; the new id.

        Raises HouseholdUnreadable `gone` where the old one is not there any more (somebody else took it back).
        """

    def answered(self, request: str) -> dict[str, Any] | None:
        """What was answered to this request before; None where it is new."""

    def keep_answer(self, request: str, record: dict[str, Any], at: datetime) -> None:
        """Remember the answer to a request, once; those of more than a day ago are dropped."""

    def turn(self, conversation: str) -> dict[str, Any] | None:
        """The state of a conversation; None for one that is new here."""

    def save_turn(self, conversation: str, state: dict[str, Any], at: datetime) -> None:
        """Keep the state of a conversation in the place of the one before. `state` is plain JSON."""

    def add_reminder(self, *, due: datetime, what: str, clock_time: bool) -> int:
        """Set a reminder; its id."""

    def reminders(self, *, due_by: datetime | None = None) -> list[Reminder]:
        """Reminders that are still open, earliest first; with `due_by`, those due by then."""

    def close_reminder(self, reminder: int, at: datetime) -> bool:
        """Mark a reminder as said or cancelled; False where it was not open."""
