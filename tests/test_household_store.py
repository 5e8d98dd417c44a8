"""The household's folder and records: its owner's alone, never half written, never a traceback, nothing deleted."""

from __future__ import annotations

import os
import sqlite3
import stat
import subprocess
import sys
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from assistant.household import PlanFaults
from assistant.household.home import HISTORY, RECORDS, Home, default_folder, find_home, open_home, use_plan
from assistant.household.store_sqlite import SqliteStore
from rules.quantity import qty

DEMO = Path(__file__).parent.parent / "demo"
NOW = datetime(2026, 11, 25, 21, 4, tzinfo=UTC)


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return open_home(tmp_path / "home")


def mode(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)


def test_the_folder_is_where_the_system_keeps_data(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert default_folder() == tmp_path / "bagside"
    monkeypatch.setenv("HOME", "/home/lark")
    for value in ("", "not/absolute"):
        monkeypatch.setenv("XDG_DATA_HOME", value)
        assert default_folder() == Path("/home/lark/.local/share/bagside")


def test_folder_plan_and_records_are_the_owners_alone(home: Home) -> None:
    before = os.umask(0)
    try:
        use_plan(home, DEMO / "adult_syringe.toml", NOW)
        use_plan(home, DEMO / "infant_powder.toml", NOW)
        store = home.store()
        store.add_event(at=NOW, kind="flushed", recorded_at=NOW)
    finally:
        os.umask(before)
    assert mode(home.folder) == mode(home.folder / HISTORY) == 0o700
    files = [path for path in home.folder.rglob("*") if path.is_file()]
    assert {f"{RECORDS}-wal", RECORDS, "care_plan.toml"} <= {path.name for path in files}
    assert {mode(path) for path in files} == {0o600}
    store.close()


def test_a_loose_folder_of_ours_is_closed_and_anothers_is_left(tmp_path: Path) -> None:
    ours, others = tmp_path / "ours", tmp_path / "others"
    for folder in (ours, others):
        folder.mkdir()
        folder.chmod(0o755)
    (others / "holiday.txt").write_text("not a household")
    open_home(ours)
    open_home(others)
    assert (mode(ours), mode(others)) == (0o700, 0o755)


def test_the_plan_before_is_kept_byte_for_byte(home: Home) -> None:
    first, second = DEMO / "adult_syringe.toml", DEMO / "infant_powder.toml"
    assert use_plan(home, first, NOW).kept is None
    assert not use_plan(home, first, NOW).changed
    kept = [use_plan(home, file, NOW).kept for file in (second, first)]
    earlier = sorted((home.folder / "earlier_plans").glob("*.toml"))
    assert all(kept) and earlier == sorted(path for path in kept if path)
    assert earlier[0].read_bytes() == first.read_bytes()
    plan = home.plan()
    assert plan is not None and plan.person.nickname == "Wren"


def test_a_bad_plan_changes_nothing(home: Home, tmp_path: Path) -> None:
    use_plan(home, DEMO / "adult_syringe.toml", NOW)
    bad = tmp_path / "bad.toml"
    bad.write_text('route = "gastrostomy"\n')
    with pytest.raises(PlanFaults):
        use_plan(home, bad, NOW)
    assert home.plan_path.read_bytes() == (DEMO / "adult_syringe.toml").read_bytes()
    assert not [*home.folder.glob("earlier_plans/*")]


def test_a_home_without_a_plan_has_none(tmp_path: Path) -> None:
    assert find_home(tmp_path / "nowhere").plan() is None
    assert not (tmp_path / "nowhere").exists()


def test_undo_takes_back_one_entry_and_keeps_it_in_the_file(home: Home) -> None:
    store = home.store()
    first, last = (store.add_event(at=NOW - timedelta(minutes=m), kind="flushed", recorded_at=NOW) for m in (30, 10))
    assert store.undo(last, NOW) and not store.undo(last, NOW)
    assert [event.id for event in store.events()] == [first]
    assert store.undo(first, NOW) and store.events() == []
    assert [event.undone_at for event in store.events(undone=True)] == [NOW, NOW]
    with sqlite3.connect(home.folder / RECORDS) as raw:
        assert raw.execute("select count(*) from events").fetchone() == (2,)


def test_an_instant_without_a_zone_and_a_negative_amount_are_not_written(home: Home) -> None:
    store = home.store()
    with pytest.raises(ValueError, match="zone"):
        store.add_event(at=datetime(2026, 11, 25), kind="flushed", recorded_at=NOW)
    with pytest.raises(ValueError, match="0 or more"):
        store.add_event(at=NOW, kind="flushed", recorded_at=NOW, volume=qty(-1, "mL"))
    assert store.events() == []


def test_a_conversation_is_kept(home: Home) -> None:
    store = home.store()
    store.save_turn("phone", {"pending": "rate"}, NOW)
    store.save_turn("phone", {"pending": None, "said": "é"}, NOW)
    assert home.store().turn("phone") == {"pending": None, "said": "é"}
    assert store.turn("kitchen") is None


def test_reminders_come_due_and_close_once(home: Home) -> None:
    store = home.store()
    later = store.add_reminder(due=NOW + timedelta(hours=2), what="change the set", clock_time=False)
    first = store.add_reminder(due=NOW, what="flush", clock_time=True)
    assert [reminder.id for reminder in store.reminders()] == [first, later]
    assert [(due.what, due.clock_time) for due in store.reminders(due_by=NOW)] == [("flush", True)]
    assert store.close_reminder(first, NOW) and not store.close_reminder(first, NOW)
    assert [reminder.id for reminder in store.reminders()] == [later]


def test_every_write_is_synced_and_readers_do_not_wait(home: Home) -> None:
    store = home.store()
    with store._connections.use() as db:
        pragmas = [db.execute(f"pragma {name}").fetchone()[0]
                   for name in ("journal_mode", "synchronous", "busy_timeout")]
    assert pragmas == ["wal", 2, 5000]


def test_one_store_may_be_shared_by_threads(home: Home) -> None:
    store = home.store()

    def write() -> None:
        for _ in range(10):
            store.add_event(at=NOW, kind="flushed", recorded_at=NOW)
        store.close()

    threads = [threading.Thread(target=write) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(store.events()) == 40


WRITER = """
import sys
from datetime import datetime, UTC
from pathlib import Path
from assistant.household.store_sqlite import SqliteStore
store, now = SqliteStore(Path(sys.argv[1])), datetime.now(UTC)
for n in range(40):
    store.add_event(at=now, kind="flushed", recorded_at=now, note=f"{sys.argv[2]} {n}")
"""


def test_two_programs_may_open_new_records_and_write_at_once(home: Home) -> None:
    path = home.folder / RECORDS
    writers = [subprocess.Popen([sys.executable, "-c", WRITER, str(path), name], cwd=DEMO.parent,
                                stderr=subprocess.PIPE) for name in ("day", "night")]
    assert [(writer.wait(60), writer.stderr and writer.stderr.read()) for writer in writers] == [(0, b"")] * 2
    notes = [event.note for event in SqliteStore(path).events()]
    assert sorted(notes, key=str) == sorted(f"{name} {n}" for name in ("day", "night") for n in range(40))
