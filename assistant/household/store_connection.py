"""One SQLite connection a thread, and every failure of it in our words. For store_sqlite.py and the desk's book."""

from __future__ import annotations

import errno
import os
import sqlite3
import stat
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from sqlite_utils import Database, Migrations

from assistant.household.safe_file import OWNER_ONLY
from assistant.household.store_schema import CHANGES, bring_up_to_date, from_a_newer_version, migrations
from assistant.household.unreadable import HouseholdUnreadable, from_os

BUSY_SECONDS = 5
_MAKING = threading.Lock()  # between making a file and its first connection no other thread has one
_CODES = {
    sqlite3.SQLITE_BUSY: "locked", sqlite3.SQLITE_LOCKED: "locked",
    sqlite3.SQLITE_CORRUPT: "damaged", sqlite3.SQLITE_NOTADB: "damaged", sqlite3.SQLITE_FORMAT: "damaged",
    sqlite3.SQLITE_READONLY: "read_only", sqlite3.SQLITE_FULL: "full", sqlite3.SQLITE_IOERR: "full",
    sqlite3.SQLITE_PERM: "not_allowed", sqlite3.SQLITE_AUTH: "not_allowed", sqlite3.SQLITE_CANTOPEN: "not_allowed",
}


class Connections:
    """The connections of one records file; a connection belongs to the thread and process that opened it."""

    def __init__(
        self, path: Path, kept: Migrations = migrations, changes: Sequence[Callable[[Database], None]] = CHANGES
    ) -> None:
        self.path = path
        self._tables = (kept, changes)
        self._mine = threading.local()

    @contextmanager
    def use(self) -> Iterator[Database]:
        """This thread's connection. Any fault of SQLite or of the disk leaves as HouseholdUnreadable."""
        try:
            yield self._database()
        except sqlite3.Error as fault:
            raise HouseholdUnreadable(_code(fault), self.path) from fault
        except OSError as fault:
            raise from_os(fault, self.path) from fault

    @contextmanager
    def transaction(self) -> Iterator[Database]:
        """One transaction: all of it is on the disk afterwards, or none. Another program that writes is waited for."""
        with self.use() as db:
            if db.conn.in_transaction:      # within a larger one
                yield db
                return
            db.conn.execute("BEGIN IMMEDIATE")
            try:
                yield db
                db.conn.execute("COMMIT")
            except BaseException:
                db.conn.rollback()
                raise

    def close(self) -> None:
        """Close this thread's connection, if it has one."""
        db = getattr(self._mine, "db", None)
        if db is not None and self._mine.process == os.getpid():
            db.conn.close()
        self._mine.db = None

    def _database(self) -> Database:
        if getattr(self._mine, "db", None) is None or self._mine.process != os.getpid():
            self._mine.db = _open(self.path, *self._tables)
            self._mine.process = os.getpid()
        db: Database = self._mine.db
        return db


def _code(fault: sqlite3.Error) -> str:
    """Code of the sentence for a fault of SQLite; a table that lacks a column is damage too."""
    number = getattr(fault, "sqlite_errorcode", None)
    if number is None:
        return "other"
    if number == sqlite3.SQLITE_ERROR:
        return "damaged"
    return _CODES.get(number & 0xFF, "other")


def _open(path: Path, kept: Migrations, changes: Sequence[Callable[[Database], None]]) -> Database:
    """Open the records, made new and owner-only where there are none, with their tables up to date.

    A file that is there is never opened beside SQLite: closing such a handle would drop every POSIX lock that this
    process holds on the file, and another process could then take away the write-ahead log under our connections.
    """
    with _MAKING:
        try:
            os.close(os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL, OWNER_ONLY))
        except FileExistsError:
            state = path.stat()
            if not stat.S_ISREG(state.st_mode):
                raise IsADirectoryError(errno.EISDIR, os.strerror(errno.EISDIR), str(path)) from None
            if os.name == "posix" and state.st_uid == os.geteuid() and state.st_mode & 0o077:
                path.chmod(OWNER_ONLY)       # -wal and -shm take the mode of the records
    give_up = time.monotonic() + BUSY_SECONDS
    while True:
        try:
            return _prepared(path, kept, changes)
        except sqlite3.OperationalError as fault:
            # turning to WAL does not wait for another program as other statements do
            if _code(fault) != "locked" or time.monotonic() > give_up:
                raise
            time.sleep(0.02)


def _prepared(path: Path, kept: Migrations, changes: Sequence[Callable[[Database], None]]) -> Database:
    connection = sqlite3.connect(path, timeout=BUSY_SECONDS)
    try:
        db = Database(connection, execute_plugins=False)
        connection.execute(f"PRAGMA busy_timeout = {BUSY_SECONDS * 1000}")
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")     # what was said "done" of survives a power cut
        if from_a_newer_version(db, kept, changes):
            raise HouseholdUnreadable("newer", path)
        bring_up_to_date(db, kept)
    except BaseException:
        connection.close()
        raise
    return db
