"""One household's records in SQLite, the embedded default. What each method promises stands in store.py."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlite_utils import Database

from assistant.household.store import REQUESTS_KEPT, LoggedEvent, Reminder
from assistant.household.store_connection import Connections
from assistant.household.store_text import amount, amount_text, instant, plain_json, utc_text
from assistant.household.unreadable import HouseholdUnreadable
from rules.quantity import Quantity


class SqliteStore:
    """The records in one file, opened at the first use. May be shared by threads."""

    def __init__(self, path: Path) -> None:
        self.path = self.where = path
        self._connections = Connections(path)

    def close(self) -> None:
        """Close this thread's connection."""
        self._connections.close()

    # ---- the feed log

    def add_event(self, *, at: datetime, kind: str, recorded_at: datetime, volume: Quantity | None = None,
                  rate: Quantity | None = None, feed: str | None = None, note: str | None = None,
                  said: str | None = None, replaces: int | None = None) -> int:
        """Write one event; its id. It is on the disk when this returns (within a transaction: when that ends)."""
        row = {"at": utc_text(at), "kind": kind, "volume": amount_text(volume, "mL"),
               "rate": amount_text(rate, "mL/h"), "feed": feed, "note": note, "said": said,
               "recorded_at": utc_text(recorded_at), "undone_at": None, "replaces": replaces}
        with self._logging() as db:
            return int(str(db.table("events").insert(row).last_pk))

    def events(self, *, since: datetime | None = None, until: datetime | None = None,
               kind: str | None = None, undone: bool = False) -> list[LoggedEvent]:
        """Events in the order in which they happened; both ends are included. With `undone` also those taken back."""
        where, args = ["1"] if undone else ["undone_at is null"], []
        for clause, value in (("at >= ?", since and utc_text(since)), ("at <= ?", until and utc_text(until)),
                              ("kind = ?", kind)):
            if value is not None:
                where.append(clause)
                args.append(value)
        with self._connections.use() as db:
            found = list(db.table("events").rows_where(" and ".join(where), args, order_by="at, id"))
        return [self._event(row) for row in found]

    def undo(self, event: int, at: datetime) -> bool:
        """Take back one event by its id; it stays in the file, marked. False where it was not there."""
        with self._logging() as db:
            changed = db.execute("update events set undone_at = ? where id = ? and undone_at is null",
                                 [utc_text(at), event])
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

    @contextmanager
    def _logging(self) -> Iterator[Database]:
        """A transaction that changes the log: its mark says so."""
        with self._connections.transaction() as db:
            db.execute("update log_mark set number = number + 1")
            yield db

    def marks(self, conversation: str) -> tuple[int, int]:
        """Two numbers that only grow: with each change of the log, and with each turn of this conversation."""
        with self._connections.use() as db:
            found = db.execute("select (select number from log_mark), "
                               "coalesce((select version from turns where conversation = ?), 0)", [conversation])
            log, turn = found.fetchone()
        return int(log), int(turn)

    def answered(self, request: str) -> dict[str, Any] | None:
        """What was answered to this request before; None where it is new."""
        with self._connections.use() as db:
            found = db.execute("select record from requests where request = ?", [request]).fetchone()
        return None if found is None else plain_json(found[0], self.path)

    def keep_answer(self, request: str, record: dict[str, Any], at: datetime) -> None:
        """Remember the answer to a request; those of more than a day ago are dropped."""
        row = {"request": request, "record": json.dumps(record, ensure_ascii=False), "at": utc_text(at)}
        with self._connections.transaction() as db:
            db.execute("delete from requests where at < ?", [utc_text(at - REQUESTS_KEPT)])
            db.table("requests").insert(row)

    # ---- conversations

    def save_turn(self, conversation: str, state: dict[str, Any], at: datetime) -> None:
        """Keep the state of a conversation in the place of the one before. `state` is plain JSON."""
        row = [conversation, json.dumps(state, ensure_ascii=False), utc_text(at)]
        with self._connections.transaction() as db:
            db.execute("insert into turns (conversation, state, changed_at, version) values (?, ?, ?, 1) "
                       "on conflict (conversation) do update set state = excluded.state, "
                       "changed_at = excluded.changed_at, version = version + 1", row)

    def turn(self, conversation: str) -> dict[str, Any] | None:
        """The state of a conversation; None for one that is new here."""
        with self._connections.use() as db:
            rows = list(db.table("turns").rows_where("conversation = ?", [conversation]))
        if not rows:
            return None
        return plain_json(rows[0]["state"], self.path)

    # ---- reminders

    def add_reminder(self, *, due: datetime, what: str, clock_time: bool) -> int:
        """Set a reminder; its id."""
        row = {"due": utc_text(due), "what": what, "clock_time": int(clock_time), "done_at": None}
        with self._logging() as db:
            return int(str(db.table("reminders").insert(row).last_pk))

    def reminders(self, *, due_by: datetime | None = None) -> list[Reminder]:
        """Reminders that are still open, earliest first; with `due_by`, those due by then."""
        where = "done_at is null" + (" and due <= ?" if due_by else "")
        args = [utc_text(due_by)] if due_by else []
        with self._connections.use() as db:
            found = list(db.table("reminders").rows_where(where, args, order_by="due, id"))
        return [Reminder(row["id"], instant(row["due"], self.path), row["what"], bool(row["clock_time"]), None)
                for row in found]

    def close_reminder(self, reminder: int, at: datetime) -> bool:
        """Mark a reminder as said or cancelled; False where it was not open."""
        with self._logging() as db:
            changed = db.execute("update reminders set done_at = ? where id = ? and done_at is null",
                                 [utc_text(at), reminder])
            return bool(changed.rowcount == 1)

    # ---- upkeep

    def check(self) -> None:
        """Read the whole file for damage. Raises HouseholdUnreadable where SQLite finds any."""
        with self._connections.use() as db:
            found = [row[0] for row in db.execute("pragma integrity_check")]
        if found != ["ok"]:
            raise HouseholdUnreadable("damaged", self.path)

    def _event(self, row: dict[str, Any]) -> LoggedEvent:
        undone = row["undone_at"]
        return LoggedEvent(row["id"], instant(row["at"], self.path), row["kind"],
                           amount(row["volume"], "mL", self.path), amount(row["rate"], "mL/h", self.path),
                           row["feed"], row["note"], row["said"], instant(row["recorded_at"], self.path),
                           row["replaces"], None if undone is None else instant(undone, self.path))
