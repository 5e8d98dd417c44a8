"""Connections to a service's database: one a thread, transactions whose end is known, every failure in our words."""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from typing import Any

import psycopg
from psycopg import errors

from assistant.homes.postgres_schema import bring_up_to_date
from assistant.homes.postgres_watch import Watch
from assistant.household.unreadable import HouseholdUnreadable

CONNECT_S = 3
STATEMENT_MS = 4_000  # a database slower than this is said to be slow; nobody waits longer at the telephone
ANSWERS_S = 6.0  # a database that says nothing at all for so long has gone
ASKS_FOR_S = 10.0  # after a break in a commit: how long to ask whether it was written
_CODES: tuple[tuple[type[Exception], str], ...] = (
    (errors.QueryCanceled, "slow"), (errors.LockNotAvailable, "slow"), (errors.DiskFull, "full"),
    (errors.ReadOnlySqlTransaction, "read_only"), (errors.InsufficientPrivilege, "not_allowed"),
    (errors.InvalidAuthorizationSpecification, "not_allowed"), (errors.UndefinedTable, "damaged"),
    (errors.UndefinedColumn, "damaged"), (errors.DataCorrupted, "damaged"), (errors.IndexCorrupted, "damaged"),
    (psycopg.OperationalError, "down"), (psycopg.InterfaceError, "down"),
)
_SETTINGS = (
    f"set statement_timeout = {STATEMENT_MS}", f"set lock_timeout = {STATEMENT_MS}", "set timezone = 'UTC'",
    f"set idle_in_transaction_session_timeout = {STATEMENT_MS * 2}", "set client_encoding = 'UTF8'",
    "set synchronous_commit = on",  # what was said "done" of survives a crash
)
# Both give the transaction's number; the first holds the home's row until the end.
HOLD = "update homes set version = version + 1 where home = %s returning pg_current_xact_id()::text"
NUMBER = "select pg_current_xact_id()::text where %s <> ''"


class Link:
    """The database at `address`. A connection belongs to the thread and process that opened it."""

    def __init__(self, address: str) -> None:
        self._address = address
        self._mine = threading.local()
        self._current = False  # the tables are up to date
        self._watch = Watch(ANSWERS_S)

    def rows(self, where: str, query: str, args: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
        """The rows of one query; `where` is the home it is about. A connection that has gone stale is opened anew."""
        if self.in_transaction:
            return self._ask(where, query, args)
        try:
            return self._ask(where, query, args)
        except HouseholdUnreadable as fault:
            if fault.code != "down":
                raise
            return self._ask(where, query, args)

    @contextmanager
    def transaction(self, home: str, hold: bool = True) -> Iterator[None]:
        """One transaction on one home: all of it is on the disk afterwards, or none. With `hold` other writers wait.

        Where the connection breaks in the commit itself, the database is asked afterwards what became of it; if it
        does not tell, HouseholdUnreadable `unsure` says so.
        """
        if self.in_transaction:  # within a larger one
            yield
            return
        number = self._begin(home, HOLD if hold else NUMBER)
        try:
            yield
        except BaseException:
            self._roll_back()
            raise
        self._commit(home, number)

    def close(self) -> None:
        """Close this thread's connection, if it has one."""
        found, self._mine.connection = getattr(self._mine, "connection", None), None
        if found is not None and self._mine.process == os.getpid():
            with suppress(psycopg.Error):
                found.close()

    @property
    def in_transaction(self) -> bool:
        """Is this thread within a transaction?"""
        return getattr(self._mine, "inside", False) and self._mine.process == os.getpid()

    def _ask(self, where: str, query: str, args: Sequence[Any]) -> list[tuple[Any, ...]]:
        with self._in_our_words(where):
            connection = self._open()
            with self._watch.over(connection):
                found = connection.execute(query, args)
            return found.fetchall() if found.description else [(found.rowcount,)]

    def _begin(self, home: str, first: str) -> str:
        """Begin; the transaction's number."""
        self.rows(home, "select 1")  # opens anew what has gone stale: nothing has begun yet
        self._mine.inside = True
        try:
            self._ask(home, "begin", ())
            found = self._ask(home, first, [home])
        except BaseException:
            self._roll_back()
            raise
        if not found:
            self._roll_back()
            raise HouseholdUnreadable("no_home", home)
        return str(found[0][0])

    def _commit(self, home: str, number: str) -> None:
        self._mine.inside = False
        try:
            with self._in_our_words(home):
                connection = self._open()
                with self._watch.over(connection):
                    connection.execute("commit")
        except HouseholdUnreadable as fault:
            if fault.code != "down" or self._was_written(home, number) is False:
                raise

    def _was_written(self, home: str, number: str) -> bool:
        """What became of a commit that broke off. Raises HouseholdUnreadable `unsure` where nobody tells."""
        ends = time.monotonic() + ASKS_FOR_S
        while time.monotonic() < ends:
            with suppress(HouseholdUnreadable):
                state = self._ask(home, "select pg_xact_status(%s::xid8)", [number])[0][0]
                if state in ("committed", "aborted"):
                    return bool(state == "committed")
            time.sleep(0.2)
        raise HouseholdUnreadable("unsure", home)

    def _roll_back(self) -> None:
        self._mine.inside = False
        connection = getattr(self._mine, "connection", None)
        if connection is not None:
            try:
                with self._watch.over(connection):
                    connection.execute("rollback")
            except psycopg.Error:
                self.close()

    @contextmanager
    def _in_our_words(self, where: str) -> Iterator[None]:
        try:
            yield
        except psycopg.Error as fault:
            connection = getattr(self._mine, "connection", None)
            if connection is not None and connection.broken:
                self.close()
            code = next((code for kind, code in _CODES if isinstance(fault, kind)), "other")
            raise HouseholdUnreadable(code, where) from fault

    def _open(self) -> psycopg.Connection[tuple[Any, ...]]:
        found = getattr(self._mine, "connection", None)
        if found is not None and self._mine.process == os.getpid() and not found.closed:
            return found
        if self.in_transaction:  # never half a transaction on another connection
            raise psycopg.OperationalError("the connection broke off in a transaction")
        made = psycopg.connect(self._address, autocommit=True, connect_timeout=CONNECT_S, tcp_user_timeout=8_000)
        try:
            for setting in _SETTINGS:
                made.execute(setting)
            if not self._current and not bring_up_to_date(made):
                raise HouseholdUnreadable("newer", "-")
        except BaseException:
            made.close()
            raise
        self._current = True
        self._mine.connection, self._mine.process, self._mine.inside = made, os.getpid(), False
        return made
