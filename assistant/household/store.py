"""The household's records in SQLite: feed log, conversations, reminders. The only way to them.

Every method raises HouseholdUnreadable (exit code 3) where the records are damaged, locked, read-only or out of
room; nothing is ever deleted or mended. Instants go in timezone-aware and come back in UTC; amounts go in as
quantities and come back as quantities in mL and mL/h.
"""

from __future__ import annotations

import json
import re
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from assistant.household.store_connection import Connections
from assistant.household.unreadable import HouseholdUnreadable
from rules.quantity import Quantity, qty

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


class Store:
    """The records in one file, opened at the first use. May be shared by threads."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._connections = Connections(path)

    def close(self) -> None:
        """Close this thread's connection."""
        self._connections.close()

    # ---- the feed log

    def add_event(self, *, at: datetime, kind: str, recorded_at: datetime, volume: Quantity | None = None,
                  rate: Quantity | None = None, feed: str | None = None, note: str | None = None,
                  said: str | None = None, replaces: int | None = None) -> int:
        """Write one event; its id. It is on the disk when this returns (within a transaction: when that ends)."""
        row = {"at": _utc_text(at), "kind": kind, "volume": _amount_text(volume, "mL"),
               "rate": _amount_text(rate, "mL/h"), "feed": feed, "note": note, "said": said,
               "recorded_at": _utc_text(recorded_at), "undone_at": None, "replaces": replaces}
        with self._connections.transaction() as db:
            return int(str(db.table("events").insert(row).last_pk))

    def events(self, *, since: datetime | None = None, until: datetime | None = None,
               kind: str | None = None, undone: bool = False) -> list[LoggedEvent]:
        """Events in the order in which they happened; both ends are included. With `undone` also those taken back."""
        where, args = ["1"] if undone else ["undone_at is null"], []
        for clause, value in (("at >= ?", since and _utc_text(since)), ("at <= ?", until and _utc_text(until)),
                              ("kind = ?", kind)):
            if value is not None:
                where.append(clause)
                args.append(value)
        with self._connections.use() as db:
            found = list(db.table("events").rows_where(" and ".join(where), args, order_by="at, id"))
        return [self._event(row) for row in found]

    def undo(self, event: int, at: datetime) -> bool:
        """Take back one event by its id; it stays in the file, marked. False where it was not there."""
        with self._connections.transaction() as db:
            changed = db.execute("update events set undone_at = ? where id = ? and undone_at is null",
                                 [_utc_text(at), event])
            return bool(changed.rowcount == 1)

    def correct(self, event: int, told_at: datetime, **new: Any) -> int:
        """Put another event in the place of one, which stays in the file, marked. `new` as for add_event; the new id.

        Raises HouseholdUnreadable `gone` where the old one is not there any more (another program took it back).
        """
        with self._connections.transaction():
            if not self.undo(event, told_at):
                raise HouseholdUnreadable("gone", self.path)
            return self.add_event(recorded_at=told_at, replaces=event, **new)

    # ---- one transaction, and requests sent twice

    def transaction(self) -> AbstractContextManager[Any]:
        """Everything written inside is on the disk afterwards, or nothing of it."""
        return self._connections.transaction()

    def version(self) -> int:
        """A number that changes when another program wrote to these records."""
        with self._connections.use() as db:
            return int(db.execute("pragma data_version").fetchone()[0])

    def answered(self, request: str) -> dict[str, Any] | None:
        """What was answered to this request before; None where it is new."""
        with self._connections.use() as db:
            found = db.execute("select record from requests where request = ?", [request]).fetchone()
        return None if found is None else self._json(found[0])

    def keep_answer(self, request: str, record: dict[str, Any], at: datetime) -> None:
        """Remember the answer to a request; those of more than a day ago are dropped."""
        row = {"request": request, "record": json.dumps(record, ensure_ascii=False), "at": _utc_text(at)}
        with self._connections.transaction() as db:
            db.execute("delete from requests where at < ?", [_utc_text(at - REQUESTS_KEPT)])
            db.table("requests").insert(row)

    # ---- conversations

    def save_turn(self, conversation: str, state: dict[str, Any], at: datetime) -> None:
        """Keep the state of a conversation in the place of the one before. `state` is plain JSON."""
        row = {"conversation": conversation, "state": json.dumps(state, ensure_ascii=False),
               "changed_at": _utc_text(at)}
        with self._connections.transaction() as db:
            db.table("turns").upsert(row, pk="conversation")

    def turn(self, conversation: str) -> dict[str, Any] | None:
        """The state of a conversation; None for one that is new here."""
        with self._connections.use() as db:
            rows = list(db.table("turns").rows_where("conversation = ?", [conversation]))
        if not rows:
            return None
        return self._json(rows[0]["state"])

    # ---- reminders

    def add_reminder(self, *, due: datetime, what: str, clock_time: bool) -> int:
        """Set a reminder; its id."""
        row = {"due": _utc_text(due), "what": what, "clock_time": int(clock_time), "done_at": None}
        with self._connections.transaction() as db:
            return int(str(db.table("reminders").insert(row).last_pk))

    def reminders(self, *, due_by: datetime | None = None) -> list[Reminder]:
        """Reminders that are still open, earliest first; with `due_by`, those due by then."""
        where = "done_at is null" + (" and due <= ?" if due_by else "")
        args = [_utc_text(due_by)] if due_by else []
        with self._connections.use() as db:
            found = list(db.table("reminders").rows_where(where, args, order_by="due, id"))
        return [Reminder(row["id"], self._instant(row["due"]), row["what"], bool(row["clock_time"]), None)
                for row in found]

    def close_reminder(self, reminder: int, at: datetime) -> bool:
        """Mark a reminder as said or cancelled; False where it was not open."""
        with self._connections.transaction() as db:
            changed = db.execute("update reminders set done_at = ? where id = ? and done_at is null",
                                 [_utc_text(at), reminder])
            return bool(changed.rowcount == 1)

    # ---- upkeep

    def check(self) -> None:
        """Read the whole file for damage. Raises HouseholdUnreadable where SQLite finds any."""
        with self._connections.use() as db:
            found = [row[0] for row in db.execute("pragma integrity_check")]
        if found != ["ok"]:
            raise HouseholdUnreadable("damaged", self.path)

    def _json(self, text: Any) -> dict[str, Any]:
        try:
            found = json.loads(text)
        except (TypeError, ValueError):
            raise HouseholdUnreadable("damaged", self.path) from None
        if not isinstance(found, dict):
            raise HouseholdUnreadable("damaged", self.path)
        return found

    def _event(self, row: dict[str, Any]) -> LoggedEvent:
        return LoggedEvent(row["id"], self._instant(row["at"]), row["kind"], self._amount(row["volume"], "mL"),
                           self._amount(row["rate"], "mL/h"), row["feed"], row["note"], row["said"],
                           self._instant(row["recorded_at"]), row["replaces"],
                           None if row["undone_at"] is None else self._instant(row["undone_at"]))

    def _instant(self, text: Any) -> datetime:
        try:
            return datetime.fromisoformat(text)
        except (TypeError, ValueError):
            raise HouseholdUnreadable("damaged", self.path) from None

    def _amount(self, text: Any, unit: str) -> Quantity | None:
        if text is None:
            return None
        number, _, written = str(text).partition(" ")
        if written != unit or not re.fullmatch(r"[0-9]+(\.[0-9]+)?", number):
            raise HouseholdUnreadable("damaged", self.path)
        return qty(number, unit)


def _utc_text(instant: datetime) -> str:
    """An instant as text that sorts by time. A datetime without a zone is a mistake of ours."""
    if instant.tzinfo is None:
        raise ValueError("an instant needs a zone")
    return instant.astimezone(UTC).isoformat(timespec="microseconds")


def _amount_text(amount: Quantity | None, unit: str) -> str | None:
    """A quantity as exact text ("62.5 mL"). An amount below nothing is a mistake of ours."""
    if amount is None:
        return None
    number = amount.to(unit).magnitude
    if not isinstance(number, Decimal) or not number.is_finite() or number < 0:
        raise ValueError("an amount in the log is a Decimal, 0 or more")
    return f"{number:f} {unit}"
