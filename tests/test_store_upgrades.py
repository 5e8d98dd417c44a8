"""Records that an earlier version wrote, with its tables: brought up to date with every row kept, on each store."""

from __future__ import annotations

import json
import sqlite3
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from conftest import DEMO
from sqlite_utils import Database, Migrations

from assistant.homes import folder, postgres_schema
from assistant.homes.homes import NOTE, Entry, Homes, open_homes
from assistant.household import store_schema
from rules.quantity import qty

NOW = datetime(2026, 11, 25, 21, 4, tzinfo=UTC)
PLAN = (DEMO / "child_overnight_pump.toml").read_bytes()
OLD_TALK = {"question": None, "note": "é"}


def goes_on(homes: Homes) -> None:
    """What was written before is there, and what is new counts on from it."""
    store = homes.store("K-1")
    assert [(e.id, e.kind, e.volume) for e in store.events()] == [(1, "flushed", qty(20, "mL"))]
    assert store.turn("household") == OLD_TALK and store.answered("r1") == {"text": "before"}
    assert store.marks("household") == (0, 0)
    assert store.add_event(at=NOW, kind="poured", recorded_at=NOW) == 2
    store.save_turn("household", {"a": 1}, NOW)
    assert store.marks("household") == (1, 1) and store.turn("household") == {"a": 1}
    assert [e.text for e in homes.entries("K-1", (NOTE,))] == ["before"]
    homes.write(Entry("K-1", 0, NOW, "ann", NOTE, text="after"))
    assert [e.text for e in homes.entries("K-1", (NOTE,))] == ["after", "before"]
    assert homes.sign_ins.try_by("ann", NOW, 1, timedelta(hours=1)) and homes.sign_ins.held("x") is None
    homes.close()


def earlier(path: Path, name: str, changes: Any) -> sqlite3.Connection:
    """A file with only these changes applied, as the version before left it."""
    link = sqlite3.connect(path)
    before = Migrations(name)
    for change in changes:
        before()(change)
    before.apply(Database(link))
    return link


def test_a_folder_of_an_earlier_version(tmp_path: Path) -> None:
    at = "2026-11-25T21:04:00.000000+00:00"
    open_homes(str(tmp_path)).put_plan("K-1", PLAN, NOW)
    link = earlier(tmp_path / "K-1" / "household.db", "bagside_household", store_schema.CHANGES[:2])
    link.execute("insert into events (at, kind, volume, recorded_at) values (?, 'flushed', '20 mL', ?)", [at, at])
    link.execute("insert into turns values ('household', ?, ?)", [json.dumps(OLD_TALK), at])
    link.execute("insert into requests values ('r1', '{\"text\": \"before\"}', ?)", [at])
    link.commit()
    link.close()
    link = earlier(tmp_path / "desk.db", "bagside_desk", folder.CHANGES[:1])
    link.execute("insert into desk_book (home, at, by, kind, level, urgency, text) "
                 "values ('K-1', ?, 'ann', 'note', 'none', 4, 'before')", [at])
    link.commit()
    link.close()
    goes_on(open_homes(str(tmp_path)))


def test_a_database_of_an_earlier_version(cluster: Any) -> None:
    import psycopg

    address = cluster.new_database()
    with psycopg.connect(address) as link:
        link.execute("create table bagside_changes (name text primary key, applied_at timestamptz default now())")
        name, statements = postgres_schema.CHANGES[0]
        for statement in statements:
            link.execute(statement)                          # type: ignore[call-overload]
        link.execute("insert into bagside_changes (name) values (%s)", [name])
        link.execute("insert into homes (home, plan, plan_since) values ('K-1', %s, %s)", [PLAN, NOW])
        link.execute("insert into events (home, id, at, kind, volume, recorded_at) "
                     "values ('K-1', 1, %s, 'flushed', '20 mL', %s)", [NOW, NOW])
        link.execute("insert into turns values ('K-1', 'household', %s, %s)", [json.dumps(OLD_TALK), NOW])
        link.execute("insert into requests values ('K-1', 'r1', '{\"text\": \"before\"}', %s)", [NOW])
        link.execute("insert into desk_book (home, at, by, kind, level, urgency, text) "
                     "values ('K-1', %s, 'ann', 'note', 'none', 4, 'before')", [NOW])
    goes_on(open_homes(address))
