"""The tables of a household's records, and how older ones are brought up to date."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from sqlite_utils import Database, Migrations

migrations = Migrations("bagside_household")


def m001_events_turns_reminders(db: Database) -> None:
    """The first tables. Instants are ISO 8601 in UTC with microseconds, so that text order is time order."""
    db.table("events").create(
        {"id": int, "at": str, "kind": str, "volume": str, "rate": str, "feed": str, "note": str, "said": str,
         "recorded_at": str, "undone_at": str},
        pk="id", not_null={"at", "kind", "recorded_at"})
    db.table("events").create_index(["at"])
    db.table("turns").create(
        {"conversation": str, "state": str, "changed_at": str},
        pk="conversation", not_null={"state", "changed_at"})
    db.table("reminders").create(
        {"id": int, "due": str, "what": str, "clock_time": int, "done_at": str},
        pk="id", not_null={"due", "what", "clock_time"})
    db.table("reminders").create_index(["due"])


def m002_corrections_and_requests(db: Database) -> None:
    """`replaces`: the entry that this one puts right (that one is marked undone). `requests`: what was answered to a
    request with an id, written with its entries, so that a request sent again writes nothing again."""
    db.table("events").add_column("replaces", int)
    db.table("requests").create(
        {"request": str, "record": str, "at": str}, pk="request", not_null={"record", "at"})


def m003_marks(db: Database) -> None:
    """By what several processes that answer one household see what the others wrote, without reading all of it."""
    db.table("turns").add_column("version", int, not_null_default=0)
    db.table("log_mark").create({"number": int}, not_null={"number"})
    db.table("log_mark").insert({"number": 0})
    db.table("requests").create_index(["at"])


#: every change of the tables, in order; a change that has been released is never edited, only followed by another
CHANGES = (m001_events_turns_reminders, m002_corrections_and_requests, m003_marks)
for change in CHANGES:
    migrations()(change)


def bring_up_to_date(db: Database, migrations: Migrations = migrations) -> None:
    """Apply what is pending, once, even where two programs open the records at the same moment."""
    if not migrations.pending(db):
        return
    db.conn.execute("BEGIN IMMEDIATE")      # the second program waits here, and then finds nothing pending
    try:
        migrations.apply(db)
        db.conn.execute("COMMIT")
    except BaseException:
        db.conn.rollback()
        raise


def from_a_newer_version(
    db: Database, migrations: Migrations = migrations, changes: Sequence[Callable[[Database], None]] = CHANGES
) -> bool:
    """The records hold changes that this version does not know: it must not write to them."""
    known = {change.__name__ for change in changes}
    return any(done.name not in known for done in migrations.applied(db))
