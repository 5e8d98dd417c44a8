"""The homes of a folder: each household's folder by its code, and the desk's book beside them. For a few homes.

What each method promises stands in homes.py. A household's folder is the one that `bagside --home` uses.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlite_utils import Database, Migrations

from assistant.homes.homes import CALL_BACK, CODE, DESK, LISTED, URGENCY, Entry, Listed, checked_plan, good_code
from assistant.homes.sign_ins import SignIns, SqlSignIns
from assistant.household.care_plan import CarePlan
from assistant.household.home import PLAN, Home, find_home, open_home, put_plan
from assistant.household.store import Store
from assistant.household.store_connection import Connections
from assistant.household.store_text import instant, utc_text
from assistant.household.unreadable import HouseholdUnreadable, from_os

BOOK = "desk.db"
migrations = Migrations("bagside_desk")


def m001_book(db: Database) -> None:
    """The desk's book. Instants are ISO 8601 in UTC with microseconds, so that text order is time order."""
    db.table("desk_book").create(
        {"id": int, "home": str, "at": str, "by": str, "kind": str, "level": str, "urgency": int, "text": str,
         "due": str, "done_at": str, "done_by": str},
        pk="id", not_null={"home", "at", "by", "kind", "level", "urgency", "text"})
    db.table("desk_book").create_index(["home", "id"])
    db.table("desk_book").create_index(["kind", "done_at", "urgency", "due"])


def m002_sign_ins(db: Database) -> None:
    """Who is signed in at the desk, by the hash of a token, and tries to sign in (sign_ins.py)."""
    db.table("sign_ins").create(
        {"token_hash": str, "name": str, "role": str, "proof": str, "seen_at": str, "ends_at": str}, pk="token_hash",
        not_null={"name", "role", "proof", "seen_at", "ends_at"})
    db.table("sign_in_tries").create({"name": str, "tries": int, "last_at": str}, pk="name",
                                     not_null={"tries", "last_at"})


CHANGES = (m001_book, m002_sign_ins)
for change in CHANGES:
    migrations()(change)


class FolderHomes:
    """The households below `folder`. May be shared by threads."""

    def __init__(self, folder: Path) -> None:
        self._folder = open_home(folder).folder  # made, and its owner's alone
        self._book = Connections(self._folder / BOOK, migrations, CHANGES)
        self.sign_ins: SignIns = SqlSignIns(self._rows, self._book.transaction, utc_text,
                                            lambda at: instant(at, self._book.path))

    def close(self) -> None:
        self._book.close()

    def find(self, text: str, most: int = LISTED) -> list[Listed]:
        begins, found = text.strip(), []
        for folder in self._folders():
            listed = self._listed(folder)
            if folder.name.startswith(begins.upper()) or listed.nickname.lower().startswith(begins.lower()):
                found.append(listed)
            if len(found) == most:
                break
        return found

    def put_plan(self, home: str, data: bytes, at: datetime) -> None:
        home = good_code(home)
        checked_plan(data, home)
        put_plan(open_home(self._folder / home), data, at)

    def plan(self, home: str) -> CarePlan:
        return checked_plan(self.plan_data(home), home)

    def plan_data(self, home: str) -> bytes:
        data = self._home(home).plan_data()
        if data is None:
            raise HouseholdUnreadable("no_home", home)
        return data

    def store(self, home: str) -> Store:
        return self._home(home).store()

    # ---- the desk's book

    def write(self, entry: Entry) -> int:
        if entry.home != DESK:
            self._home(entry.home)
        row = {"home": entry.home, "at": utc_text(entry.at), "by": entry.by, "kind": entry.kind, "level": entry.level,
               "urgency": URGENCY.index(entry.level), "text": entry.text, "due": entry.due and utc_text(entry.due)}
        with self._book.transaction() as db:
            return int(str(db.table("desk_book").insert(row).last_pk))

    def entries(self, home: str, kinds: tuple[str, ...] = (), most: int = LISTED) -> list[Entry]:
        marks = f" and kind in ({', '.join('?' * len(kinds))})" if kinds else ""
        with self._book.use() as db:
            rows = db.table("desk_book").rows_where(f"home = ?{marks}", [home, *kinds], order_by="id desc", limit=most)
            return self._entries(rows)

    def open_call_backs(self, most: int = LISTED) -> list[Entry]:
        with self._book.use() as db:
            return self._entries(db.table("desk_book").rows_where(
                "kind = ? and done_at is null", [CALL_BACK], order_by="urgency, due, at", limit=most))

    def close_call_back(self, home: str, number: int, at: datetime, by: str) -> bool:
        with self._book.transaction() as db:
            done = db.execute("update desk_book set done_at = ?, done_by = ? where home = ? and id = ? and kind = ? "
                              "and done_at is null", [utc_text(at), by, home, number, CALL_BACK])
            return bool(done.rowcount == 1)

    def _rows(self, query: str, args: list[Any]) -> list[tuple[Any, ...]]:
        with self._book.use() as db:
            return list(db.execute(query.replace("%s", "?"), args))

    def _entries(self, rows: Iterable[dict[str, Any]]) -> list[Entry]:
        where = self._book.path
        return [Entry(r["home"], r["id"], instant(r["at"], where), r["by"], r["kind"], r["level"], r["text"],
                      r["due"] and instant(r["due"], where), r["done_at"] and instant(r["done_at"], where),
                      r["done_by"]) for r in rows]

    def _home(self, code: str) -> Home:
        code = good_code(code)
        if not (self._folder / code / PLAN).is_file():
            raise HouseholdUnreadable("no_home", code)
        return find_home(self._folder / code)

    def _folders(self) -> list[Path]:
        try:
            return sorted(f for f in self._folder.iterdir()
                          if CODE.fullmatch(f.name) and f.name != DESK and (f / PLAN).is_file())
        except OSError as fault:
            raise from_os(fault, self._folder) from fault

    def _listed(self, folder: Path) -> Listed:
        """What the list shows; a plan that cannot be read is listed by its code alone."""
        plan, nickname = folder / PLAN, ""
        with suppress(OSError, ValueError, AttributeError):
            nickname = str(tomllib.loads(plan.read_text(encoding="utf-8")).get("person", {}).get("nickname", ""))
        try:
            return Listed(folder.name, nickname, datetime.fromtimestamp(plan.stat().st_mtime, UTC))
        except OSError as fault:
            raise from_os(fault, plan) from fault
