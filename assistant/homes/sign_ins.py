"""Who is signed in at the desks of a service, and wrong tries: for all their processes, on all their computers.

These are the desk's own rows, not a home's: their keys are hashes of tokens and names of users.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import AbstractContextManager
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Protocol


@dataclass(frozen=True)
class SignIn:
    """`proof`: the mark of the user's entry in the user file as it was; another entry, and this is over."""

    name: str
    role: str
    proof: str
    seen_at: datetime
    ends_at: datetime


class SignIns(Protocol):
    """Every method raises HouseholdUnreadable where the rows cannot be read or written now."""

    def begin(self, key: str, entry: SignIn) -> None:
        """Somebody signed in; what ended before is dropped."""

    def held(self, key: str) -> SignIn | None:
        """The sign-in of that key; None for one that nobody has, or that ended."""

    def seen(self, key: str, at: datetime) -> None:
        """A request came by it."""

    def end(self, key: str) -> None:
        """It counts no more."""

    def try_by(self, name: str, at: datetime, most: int, lasts: timedelta) -> bool:
        """Count a try by this name, before its password is looked at: tries at once in many processes are all counted.

        False, and not counted, where `most` were counted and the last of them is not yet so long ago.
        """

    def forgive(self, name: str) -> None:
        """The password was right: its tries count no more."""


Rows = Callable[[str, list[Any]], list[tuple[Any, ...]]]


class SqlSignIns:
    """In any database that knows `on conflict`. `rows` runs one statement, its places written as %s; `within` is one
    transaction; `put` and `take` turn an instant into the database's own and back."""

    def __init__(
        self, rows: Rows, within: Callable[[], AbstractContextManager[Any]], put: Callable[[datetime], Any],
        take: Callable[[Any], datetime],
    ) -> None:
        self._rows, self._within, self._put, self._take = rows, within, put, take

    def begin(self, key: str, entry: SignIn) -> None:
        seen, ends = self._put(entry.seen_at), self._put(entry.ends_at)
        with self._within():
            self._rows("delete from sign_ins where ends_at <= %s", [seen])
            self._rows("insert into sign_ins (token_hash, name, role, proof, seen_at, ends_at) "
                       "values (%s, %s, %s, %s, %s, %s)", [key, entry.name, entry.role, entry.proof, seen, ends])

    def held(self, key: str) -> SignIn | None:
        found = self._rows("select name, role, proof, seen_at, ends_at from sign_ins where token_hash = %s", [key])
        return SignIn(*found[0][:3], *(self._take(at) for at in found[0][3:])) if found else None

    def seen(self, key: str, at: datetime) -> None:
        with self._within():
            self._rows("update sign_ins set seen_at = %s where token_hash = %s", [self._put(at), key])

    def end(self, key: str) -> None:
        with self._within():
            self._rows("delete from sign_ins where token_hash = %s", [key])

    def try_by(self, name: str, at: datetime, most: int, lasts: timedelta) -> bool:
        now, since = self._put(at), self._put(at - lasts)
        with self._within():
            self._rows("delete from sign_in_tries where last_at <= %s", [since])
            return bool(self._rows(
                "insert into sign_in_tries (name, tries, last_at) values (%s, 1, %s) on conflict (name) do update set "
                "tries = sign_in_tries.tries + 1, last_at = excluded.last_at where sign_in_tries.tries < %s "
                "returning tries", [name, now, most]))

    def forgive(self, name: str) -> None:
        with self._within():
            self._rows("delete from sign_in_tries where name = %s", [name])
