"""The homes of a service in its database. What each method promises stands in homes.py."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any

from assistant.homes.homes import CALL_BACK, DESK, LISTED, URGENCY, Entry, Listed, checked_plan, good_code
from assistant.homes.postgres_link import Link
from assistant.homes.postgres_store import PostgresStore
from assistant.homes.sign_ins import SignIns, SqlSignIns
from assistant.household.care_plan import CarePlan
from assistant.household.store_text import utc
from assistant.household.unreadable import HouseholdUnreadable

_COLUMNS = "home, id, at, by, kind, level, text, due, done_at, done_by"


class PostgresHomes:
    """The database at a "postgresql://..." address; reached at the first use. May be shared by threads."""

    def __init__(self, address: str) -> None:
        self._link = Link(address)
        self.sign_ins: SignIns = SqlSignIns(lambda query, args: self._link.rows(DESK, query, args),
                                            lambda: self._link.transaction(DESK, hold=False), utc,
                                            lambda at: at.astimezone(UTC))

    def close(self) -> None:
        self._link.close()

    def find(self, text: str, most: int = LISTED) -> list[Listed]:
        begins = text.strip().replace("\0", "").replace("\\", r"\\").replace("%", r"\%").replace("_", r"\_")
        # two lists, each by its own index: an "or" over both would read every home
        found = self._link.rows(
            "-", "(select home, nickname, plan_since from homes where home like %s order by home limit %s) union "
            "(select home, nickname, plan_since from homes where lower(nickname) like %s order by home limit %s) "
            "order by 1 limit %s", [f"{begins.upper()}%", most, f"{begins.lower()}%", most, most])
        return [Listed(code, nickname, since.astimezone(UTC)) for code, nickname, since in found]

    def put_plan(self, home: str, data: bytes, at: datetime) -> None:
        home = good_code(home)
        nickname = checked_plan(data, home).person.nickname or ""
        with self._link.transaction(home, hold=False):
            before = self._link.rows(home, "select plan from homes where home = %s for update", [home])
            if before and bytes(before[0][0]) == data:
                return
            self._link.rows(home, "insert into earlier_plans (home, until, plan) select home, %s, plan from homes "
                            "where home = %s", [utc(at), home])
            self._link.rows(home, "insert into homes (home, nickname, plan, plan_since) values (%s, %s, %s, %s) "
                            "on conflict (home) do update set nickname = excluded.nickname, plan = excluded.plan, "
                            "plan_since = excluded.plan_since, version = homes.version + 1",
                            [home, nickname, data, utc(at)])

    def plan(self, home: str) -> CarePlan:
        return checked_plan(self.plan_data(home), home)

    def plan_data(self, home: str) -> bytes:
        home = good_code(home)
        found = self._link.rows(home, "select plan from homes where home = %s", [home])
        if not found:
            raise HouseholdUnreadable("no_home", home)
        return bytes(found[0][0])

    def store(self, home: str) -> PostgresStore:
        return PostgresStore(self._link, good_code(home))

    # ---- the desk's book

    def write(self, entry: Entry) -> int:
        with self._link.transaction(entry.home, hold=False):
            if entry.home != DESK:
                self._known(entry.home)
            row = [entry.home, utc(entry.at), entry.by, entry.kind, entry.level, URGENCY.index(entry.level),
                   entry.text.replace("\0", "\ufffd"), entry.due and utc(entry.due)]
            made = self._link.rows(
                entry.home, "insert into desk_book (home, at, by, kind, level, urgency, text, due) "
                "values (%s, %s, %s, %s, %s, %s, %s, %s) returning id", row)
            return int(made[0][0])

    def entries(self, home: str, kinds: tuple[str, ...] = (), most: int = LISTED) -> list[Entry]:
        clause, args = (" and kind = any(%s)", [list(kinds)]) if kinds else ("", [])
        return self._entries(home, f"where home = %s{clause} order by id desc limit %s", [home, *args, most])

    def open_call_backs(self, most: int = LISTED) -> list[Entry]:
        return self._entries("-", f"where kind = '{CALL_BACK}' and done_at is null order by urgency, due, at limit %s",
                             [most])

    def close_call_back(self, home: str, number: int, at: datetime, by: str) -> bool:
        with self._link.transaction(home, hold=False):
            done = self._link.rows(
                home, "update desk_book set done_at = %s, done_by = %s where home = %s and id = %s "
                f"and kind = '{CALL_BACK}' and done_at is null", [utc(at), by, home, number])
            return bool(done[0][0] == 1)

    def _known(self, home: str) -> None:
        if not self._link.rows(home, "select 1 from homes where home = %s", [home]):
            raise HouseholdUnreadable("no_home", home)

    def _entries(self, where: str, clause: str, args: Sequence[Any]) -> list[Entry]:
        return [Entry(home, number, at.astimezone(UTC), by, kind, level, text, due and due.astimezone(UTC),
                      done_at and done_at.astimezone(UTC), done_by)
                for home, number, at, by, kind, level, text, due, done_at, done_by
                in self._link.rows(where, f"select {_COLUMNS} from desk_book {clause}", args)]
