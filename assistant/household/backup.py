"""Backup and restore of a household's records: whole copies, each read back before it counts."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

from assistant.household.safe_file import OWNER_ONLY, write_whole
from assistant.household.store_sqlite import SqliteStore
from assistant.household.unreadable import HouseholdUnreadable, from_os


class NoBackup(ValueError):
    """The file is no whole backup of a household's records."""


def backup(records: Path, to: Path) -> int:
    """Copy the records into a new file while others may go on writing (SQLite's online backup); entries it holds.

    Raises FileExistsError where something is in the place already, HouseholdUnreadable where the records cannot be
    read whole. A copy that fails leaves no file behind.
    """
    SqliteStore(records).check()
    try:
        os.close(os.open(to, os.O_CREAT | os.O_EXCL | os.O_WRONLY, OWNER_ONLY))
    except FileExistsError:
        raise
    except OSError as fault:
        raise from_os(fault, to) from fault
    try:
        with closing(sqlite3.connect(records)) as live, closing(sqlite3.connect(to)) as copy:
            live.backup(copy)
            copy.execute("pragma journal_mode = delete")  # one file, nothing beside it
        return entries(to)
    except (sqlite3.Error, NoBackup) as fault:
        to.unlink(missing_ok=True)
        raise HouseholdUnreadable("full" if isinstance(fault, sqlite3.OperationalError) else "damaged", to) from fault


def entries(file: Path) -> int:
    """How many entries a backup holds; NoBackup where it is not whole."""
    try:
        with closing(sqlite3.connect(f"{file.resolve().as_uri()}?mode=ro", uri=True)) as copy:
            if [row[0] for row in copy.execute("pragma integrity_check")] != ["ok"]:
                raise NoBackup(file)
            copy.execute("select conversation from turns").fetchone()
            copy.execute("select due from reminders").fetchone()
            return int(copy.execute("select count(*) from events").fetchone()[0])
    except sqlite3.Error as fault:
        raise NoBackup(file) from fault


def restore(records: Path, file: Path | None, at: datetime) -> tuple[int, Path | None]:
    """Put a backup in the place of the records (None: start new ones); entries, and where the old ones were kept.

    Nothing is changed where the backup is not whole. The old records are kept beside, with their -wal.
    """
    held = entries(file) if file is not None else 0
    kept = _set_aside(records, at) if records.exists() else None
    if file is not None:
        write_whole(records, file.read_bytes(), replace=True)
    SqliteStore(records).check()
    return held, kept


def _set_aside(records: Path, at: datetime) -> Path:
    stem = f"{records.stem}_until_{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    names = [f"{stem}.db", *(f"{stem}_{n}.db" for n in range(2, 1000))]
    kept = next(place for name in names if not (place := records.with_name(name)).exists())
    for tail in ("-wal", "-shm", ""):  # the records go last: a restore broken off leaves them in place
        beside = records.with_name(records.name + tail)
        if beside.exists():
            os.replace(beside, kept.with_name(kept.name + tail))
    return kept
