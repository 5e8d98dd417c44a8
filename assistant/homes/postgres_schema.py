"""The tables of a service's database, and how older ones are brought up to date. Loaded by postgres_link.py alone.

Every table's key begins with the home and every table is hash-partitioned by it, so that one home's rows lie together
and a partition can be moved, vacuumed or rebuilt by itself. Amounts are the same exact text as in SQLite.
"""

from __future__ import annotations

from typing import Any

PARTITIONS = 16
LOCK = 8_614_001  # advisory: one program at a time brings the tables up to date

_AMOUNT = "check ({0} ~ '^[0-9]+(\\.[0-9]+)? {1}$')"
_TABLES = {
    "homes": """home text not null primary key, nickname text not null default '', plan bytea not null,
        plan_since timestamptz not null, version bigint not null default 0""",
    "earlier_plans": """home text not null, until timestamptz not null, plan bytea not null,
        primary key (home, until)""",
    "events": f"""home text not null, id bigint not null, at timestamptz not null, kind text not null,
        volume text {_AMOUNT.format("volume", "mL")}, rate text {_AMOUNT.format("rate", "mL/h")}, feed text, note text,
        said text, recorded_at timestamptz not null, undone_at timestamptz, replaces bigint, primary key (home, id)""",
    "turns": """home text not null, conversation text not null, state text not null, changed_at timestamptz not null,
        primary key (home, conversation)""",
    "requests": """home text not null, request text not null, record text not null, at timestamptz not null,
        primary key (home, request)""",
    "reminders": """home text not null, id bigint not null, due timestamptz not null, what text not null,
        clock_time boolean not null, done_at timestamptz, primary key (home, id)""",
    "desk_book": """home text not null, id bigint not null default nextval('desk_book_id'), at timestamptz not null,
        by text not null, kind text not null, level text not null, urgency smallint not null, text text not null,
        due timestamptz, done_at timestamptz, done_by text, primary key (home, id)""",
}
_INDEXES = (
    "create index on events (home, at)",
    "create index on homes (home text_pattern_ops)",
    "create index on homes (lower(nickname) text_pattern_ops)",
    "create index on desk_book (urgency, due, at) where kind = 'call_back' and done_at is null",
)


def _first_tables() -> tuple[str, ...]:
    made = ["create sequence desk_book_id"]
    for name, columns in _TABLES.items():
        made.append(f"create table {name} ({columns}) partition by hash (home)")
        made += [
            f"create table {name}_{n:02} partition of {name} for values with (modulus {PARTITIONS}, remainder {n})"
            for n in range(PARTITIONS)
        ]
    return (*made, *_INDEXES)


#: every change of the tables, in order; a change that has been released is never edited, only followed by another
CHANGES: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("m001_homes_and_desk", _first_tables()),
    # by what several processes that answer one home see what the others wrote (store.py, marks)
    ("m002_marks", ("alter table homes add column log_mark bigint not null default 0",
                    "alter table turns add column version bigint not null default 0",
                    "create index on requests (home, at)")),
    # the desk's own rows (sign_ins.py): few, and no home's, so they are not cut into partitions
    ("m003_sign_ins", (
        "create table sign_ins (token_hash text primary key, name text not null, role text not null, "
        "proof text not null, seen_at timestamptz not null, ends_at timestamptz not null)",
        "create index on sign_ins (ends_at)",
        "create table sign_in_tries (name text primary key, tries integer not null, last_at timestamptz not null)",
        "create index on sign_in_tries (last_at)")),
)


def bring_up_to_date(connection: Any) -> bool:
    """Apply what is pending, once, even where many programs begin at the same moment. False: a newer version wrote."""
    known = [name for name, _ in CHANGES]
    if connection.execute("select to_regclass('bagside_changes')").fetchone()[0] is not None:
        done = {row[0] for row in connection.execute("select name from bagside_changes")}
        if not done <= set(known):
            return False
        if done == set(known):
            return True
    with connection.transaction():
        connection.execute("set local statement_timeout = 0")
        connection.execute("set local lock_timeout = 0")
        connection.execute("select pg_advisory_xact_lock(%s)", [LOCK])
        connection.execute("create table if not exists bagside_changes "
                           "(name text primary key, applied_at timestamptz not null default now())")
        done = {row[0] for row in connection.execute("select name from bagside_changes")}
        for name, statements in CHANGES:
            if name not in done:
                for statement in statements:
                    connection.execute(statement)
                connection.execute("insert into bagside_changes (name) values (%s)", [name])
    return True
