"""How fast an entry is on the disk, and an answer from a long log; each beside a baseline. No time is asserted.

    python tests/benchmarks/records_speed.py [DIR on the disk to be measured]

Baseline of an entry: sqlite3 alone, one row, WAL, synchronous FULL, on the same disk. Baseline of the answer: reading
the same rows with sqlite3 alone. Aims: an acknowledged entry 6 ms, an answer from 10,000 entries 5 ms (medians).
"""

from __future__ import annotations

import sqlite3
import sys
import tempfile
from datetime import UTC, datetime, timedelta
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from answer_speed import DEMO, report, timed

from assistant.household.care_plan import read_plan
from assistant.household.kept import Kept
from assistant.household.store_sqlite import SqliteStore
from assistant.message import Reply
from assistant.night import Night
from assistant.session import Session, instant
from rules.feed_state import Event
from rules.quantity import qty


def bare(path: Path) -> sqlite3.Connection:
    made = sqlite3.connect(path, isolation_level=None)
    made.executescript("pragma journal_mode = wal; pragma synchronous = full; create table if not exists e (at, kind)")
    return made


def main(folder: str | None) -> None:
    plan = read_plan(DEMO / "child_overnight_pump.toml")
    now = instant("2026-11-25T22:00", plan)
    with tempfile.TemporaryDirectory(prefix="bs", dir=folder) as place:
        alone = bare(Path(place) / "alone.db")
        base = timed(lambda: alone.execute("insert into e values ('2026', 'flushed')"), 200)
        report("sqlite3 alone, one row", base, base, "itself")
        store = SqliteStore(Path(place) / "household.db")
        session = Session(plan, kept=Kept(store), now=now)
        entry = {"write": "event", "event": Event(now, "flushed", qty(20, "mL")), "said": "flushed"}
        report("an acknowledged entry", timed(lambda: session._write(Reply({}, (entry,)), {}, now, None), 200), base,
               "sqlite3 alone")
        assert session.fault is None and len(store.events()) == 200
        _answers(plan, Path(place) / "long.db", now)


def _answers(plan: object, path: Path, now: datetime) -> None:
    """10,000 entries of two years; the last nine days of them are what an answer rests on."""
    store = SqliteStore(path)
    with store.transaction():
        for n in range(10_000):
            at = now.astimezone(UTC) - timedelta(minutes=105 * n + 60)
            kind = ("feed_started", "flushed", "paused", "resumed")[-n % 4]
            store.add_event(at=at, kind=kind, recorded_at=at, feed="overnight" if kind == "feed_started" else None)
    alone = sqlite3.connect(path)
    rows = timed(lambda: alone.execute("select * from events").fetchall(), 50)
    report("sqlite3 alone, 10,000 rows read", rows, rows, "itself")
    kept = Kept(store)
    kept.events(now, now.tzinfo or UTC)

    def state() -> object:
        return Night(plan, now, kept.events(now, now.tzinfo or UTC)).running  # type: ignore[arg-type]

    report("log read and state, 10,000 entries", timed(state, 50), rows, "sqlite3 alone")
    everything = tuple(Event(e.at, e.kind, e.volume, e.rate, e.feed) for e in store.events())
    report("state over all 10,000 at once", timed(lambda: Night(plan, now, everything).running, 20), rows,  # type: ignore[arg-type]
           "sqlite3 alone")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else None)
