"""One home's records in a service's database. What each method promises stands in household/store.py."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from datetime import UTC, datetime
from typing import Any

from assistant.homes.postgres_link import Link
from assistant.household.store import REQUESTS_KEPT, LoggedEvent, Reminder
from assistant.household.store_text import amount, amount_text, plain_json, utc
from assistant.household.unreadable import HouseholdUnreadable
from rules.quantity import Quantity

_COLUMNS = "id, at, kind, volume, rate, feed, note, said, recorded_at, replaces, undone_at"


class PostgresStore:
    """The rows of one home. Every query names the home first; ids count up within it."""

    def __init__(self, link: Link, home: str) -> None:
        self.home = home
        self.where = home
        self._link = link

    def close(self) -> None:
        """The connection belongs to the thread, not to one home: it stays."""

    def transaction(self) -> AbstractContextManager[Any]:
        """See Store. Writers to one home wait for each other; those to two homes never meet."""
        return self._link.transaction(self.home)

    @contextmanager
    def _logging(self) -> Iterator[None]:
        """A transaction that changes the log: its mark says so."""
        with self.transaction():
            self._rows("update homes set log_mark = log_mark + 1 where home = %s")
            yield

    def marks(self, conversation: str) -> tuple[int, int]:
        found = self._link.rows(
            self.home, "select log_mark, coalesce((select version from turns where home = %s and conversation = %s), "
            "0) from homes where home = %s", [self.home, _text(conversation), self.home])
        if not found:
            raise HouseholdUnreadable("no_home", self.home)
        return int(found[0][0]), int(found[0][1])

    def check(self) -> None:
        """The database looks after its own pages; here every value of this home is read once."""
        self.events(undone=True)
        self.reminders()
        for (state,) in self._rows("select state from turns where home = %s"):
            plain_json(state, self.home)

    # ---- the feed log

    def add_event(self, *, at: datetime, kind: str, recorded_at: datetime, volume: Quantity | None = None,
                  rate: Quantity | None = None, feed: str | None = None, note: str | None = None,
                  said: str | None = None, replaces: int | None = None) -> int:
        row = [utc(at), _text(kind), amount_text(volume, "mL"), amount_text(rate, "mL/h"), _text(feed), _text(note),
               _text(said), utc(recorded_at), replaces]
        with self._logging():
            number = self._next("events")
            self._rows("insert into events (home, id, at, kind, volume, rate, feed, note, said, recorded_at, replaces) "
                       "values (%s, %s, %s, %s, %s, %s, %s, %s, %s, %s, %s)", [number, *row])
        return number

    def events(self, *, since: datetime | None = None, until: datetime | None = None,
               kind: str | None = None, undone: bool = False) -> list[LoggedEvent]:
        where, args = ["home = %s"], []
        for clause, value in (("at >= %s", since and utc(since)), ("at <= %s", until and utc(until)),
                              ("kind = %s", kind)):
            if value is not None:
                where.append(clause)
                args.append(value)
        if not undone:
            where.append("undone_at is null")
        found = self._rows(f"select {_COLUMNS} from events where {' and '.join(where)} order by at, id", args)
        return [self._event(row) for row in found]

    def undo(self, event: int, at: datetime) -> bool:
        with self._logging():
            return self._changed("update events set undone_at = %s where home = %s and id = %s and undone_at is null",
                                 [utc(at), self.home, event])

    def correct(self, event: int, told_at: datetime, **new: Any) -> int:
        with self.transaction():
            if not self.undo(event, told_at):
                raise HouseholdUnreadable("gone", self.home)
            return self.add_event(recorded_at=told_at, replaces=event, **new)

    # ---- requests sent twice, conversations

    def answered(self, request: str) -> dict[str, Any] | None:
        found = self._rows("select record from requests where home = %s and request = %s", [_text(request)])
        return plain_json(found[0][0], self.home) if found else None

    def keep_answer(self, request: str, record: dict[str, Any], at: datetime) -> None:
        with self.transaction():
            self._rows("delete from requests where home = %s and at < %s", [utc(at) - REQUESTS_KEPT])
            self._rows("insert into requests (home, request, record, at) values (%s, %s, %s, %s)",
                       [_text(request), json.dumps(record, ensure_ascii=False), utc(at)])

    def save_turn(self, conversation: str, state: dict[str, Any], at: datetime) -> None:
        with self.transaction():
            self._rows("insert into turns (home, conversation, state, changed_at, version) values (%s, %s, %s, %s, 1) "
                       "on conflict (home, conversation) do update set state = excluded.state, "
                       "changed_at = excluded.changed_at, version = turns.version + 1",
                       [_text(conversation), json.dumps(state, ensure_ascii=False), utc(at)])

    def turn(self, conversation: str) -> dict[str, Any] | None:
        found = self._rows("select state from turns where home = %s and conversation = %s", [_text(conversation)])
        return plain_json(found[0][0], self.home) if found else None

    # ---- reminders

    def add_reminder(self, *, due: datetime, what: str, clock_time: bool) -> int:
        with self._logging():
            number = self._next("reminders")
            self._rows("insert into reminders (home, id, due, what, clock_time) values (%s, %s, %s, %s, %s)",
                       [number, utc(due), _text(what), clock_time])
        return number

    def reminders(self, *, due_by: datetime | None = None) -> list[Reminder]:
        until = " and due <= %s" if due_by else ""
        found = self._rows("select id, due, what, clock_time from reminders where home = %s and done_at is null"
                           f"{until} order by due, id", [utc(due_by)] if due_by else [])
        return [Reminder(number, due.astimezone(UTC), what, by_clock, None) for number, due, what, by_clock in found]

    def close_reminder(self, reminder: int, at: datetime) -> bool:
        with self._logging():
            return self._changed("update reminders set done_at = %s where home = %s and id = %s and done_at is null",
                                 [utc(at), self.home, reminder])

    def _rows(self, query: str, args: Sequence[Any] = ()) -> list[tuple[Any, ...]]:
        """A query whose first value is the home."""
        return self._link.rows(self.home, query, [self.home, *args])

    def _changed(self, query: str, args: Sequence[Any]) -> bool:
        return bool(self._link.rows(self.home, query, args)[0][0] == 1)

    def _next(self, table: str) -> int:
        """The next id within the home; the home is held by this transaction, so nobody else takes it."""
        return int(self._rows(f"select coalesce(max(id), 0) + 1 from {table} where home = %s")[0][0])

    def _event(self, row: tuple[Any, ...]) -> LoggedEvent:
        number, at, kind, volume, rate, feed, note, said, recorded_at, replaces, undone_at = row
        return LoggedEvent(number, at.astimezone(UTC), kind, amount(volume, "mL", self.home),
                           amount(rate, "mL/h", self.home), feed, note, said, recorded_at.astimezone(UTC), replaces,
                           None if undone_at is None else undone_at.astimezone(UTC))


def _text(said: str | None) -> str | None:
    """PostgreSQL keeps no sign of number nought; it says nothing, so a sign for "unknown" stands in its place."""
    return None if said is None else said.replace("\0", "\ufffd")
