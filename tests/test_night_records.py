"""The night's records at fault, copied and put back: no answer is lost, and nothing is called written that is not."""

from __future__ import annotations

import csv
import gc
import json
import os
import resource
import sqlite3
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from conftest import ROOT
from night import a_night, opened, say

from assistant.cli import main
from assistant.household.backup import NoBackup, backup, restore
from assistant.household.home import RECORDS, Home
from rules.quantity import qty

AT = datetime(2026, 11, 25, 21, 0, tzinfo=UTC)
SUM = "How long will 360 mL last at 72 mL/h?"


def test_a_full_disk_is_said_and_nothing_is_called_written(records: Home) -> None:
    """A file-size limit stands for a full disk: SQLite meets the same refusal."""
    opened(records)
    size = (records.folder / RECORDS).stat().st_size
    script = ("import resource, signal, sys\nfrom assistant.cli import main\nsignal.signal(signal.SIGXFSZ, "
              f"signal.SIG_IGN)\nresource.setrlimit(resource.RLIMIT_FSIZE, ({size}, {size}))\n"
              "sys.exit(main(['ask', '--home', sys.argv[1], '--now', '2026-11-25T21:00', sys.argv[2]]))")

    def ask(text: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run([sys.executable, "-c", script, str(records.folder), text], capture_output=True, text=True,
                              timeout=60, cwd=ROOT, check=False)

    assert resource.RLIMIT_FSIZE is not None
    told, asked = ask("just started the overnight feed " + "at 72 " + "please " * 600), ask(SUM)
    assert told.returncode == 3 and "NOT written down" in told.stdout and "Written down:" not in told.stdout
    assert "full" in told.stderr and told.stderr.count("\n") == 1
    assert asked.stdout.startswith("5 h") or "5 h" in asked.stdout
    assert records.store().events() == []


@pytest.mark.parametrize("fault", ["locked", "damaged", "newer"])
def test_records_that_cannot_be_used_cost_no_answer(records: Home, fault: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("assistant.household.store_connection.BUSY_SECONDS", 0.1)
    session = opened(records)
    other = sqlite3.connect(records.folder / RECORDS, isolation_level=None)
    if fault == "locked":
        other.execute("begin immediate")
    elif fault == "newer":
        other.execute("insert into _sqlite_migrations (migration_set, name, applied_at) "
                      "values ('bagside_household', 'm999_later', 'then')")
        session = opened(records)
    else:
        other.close()
        session.kept = None
        gc.collect()            # the last connection closes: nothing of the records is left in a -wal
        (records.folder / RECORDS).write_bytes(b"no database at all " * 500)
        session = opened(records)
    answered = say(session, "25T21:00", SUM)
    assert answered["outcome"] == "answered" and answered["figures"]["duration"]["value"] == 5
    told = say(session, "25T21:05", "flushed with 20 ml just now")
    assert told["outcome"] == "declined" and "NOT written down" in told["text"] and session.fault is not None
    if fault == "locked":
        other.execute("rollback")
        assert say(session, "25T21:06", "flushed with 20 ml just now")["outcome"] == "done" and session.fault is None


def test_a_clock_that_was_set_back_is_said(records: Home) -> None:
    session = opened(records)
    say(session, "25T23:00", "flushed with 20 ml just now")
    assert "Check the clock" in say(opened(records), "25T20:00", SUM)["text"]
    assert "Check the clock" not in say(opened(records), "25T23:01", SUM)["text"]


def test_log_add_asks_before_it_writes_what_does_not_fit(records: Home, capsys: pytest.CaptureFixture[str]) -> None:
    where = ["--home", str(records.folder)]
    assert main(["log", "add", "paused", *where]) == 2 and "Not written" in capsys.readouterr().err
    assert main(["log", "add", "feed_started", "--rate", "72 mL/h", "--feed", "overnight", *where]) == 0
    assert main(["log", "add", "flushed", "--volume", "twenty", *where]) == 2
    assert main(["log", "correct", "1", "--rate", "66 mL/h", *where]) == 0
    assert main(["log", "correct", "1", "--rate", "66 mL/h", *where]) == 2
    assert [(e.id, e.rate, e.replaces) for e in records.store().events()] == [(2, qty(66, "mL/h"), 1)]


def test_export_holds_every_entry_those_taken_back_too(records: Home, tmp_path: Path) -> None:
    session = a_night(records)
    say(session, "25T23:31", "undo")
    file = tmp_path / "log.csv"
    assert main(["export", str(file), "--home", str(records.folder)]) == 0
    with file.open(newline="", encoding="utf-8") as rows:
        found = list(csv.DictReader(rows))
    assert len(found) == 5 and sum(bool(r["taken_back_at"]) for r in found) == 1
    assert main(["export", str(tmp_path / "log.json"), "--json", "--home", str(records.folder)]) == 0
    assert [r["event"] for r in json.loads((tmp_path / "log.json").read_text())] == [r["event"] for r in found]


def test_a_backup_taken_while_open_restores_everything_and_writes_over_nothing(records: Home, tmp_path: Path) -> None:
    session, copy = a_night(records), tmp_path / "copy.db"
    before = records.store().events(undone=True)
    assert backup(records.folder / RECORDS, copy) == len(before)
    with pytest.raises(FileExistsError):
        backup(records.folder / RECORDS, copy)
    say(session, "25T23:40", "flushed with 30 ml just now")
    session.kept = None
    (records.folder / RECORDS).write_bytes(b"damaged " * 999)
    held, kept = restore(records.folder / RECORDS, copy, AT)
    assert held == len(before) and records.store().events(undone=True) == before
    assert kept is not None and kept.read_bytes() == b"damaged " * 999
    half = tmp_path / "half.db"
    half.write_bytes(copy.read_bytes()[:5000])
    with pytest.raises(NoBackup):
        restore(records.folder / RECORDS, half, AT)
    assert records.store().events(undone=True) == before


def test_chat_checks_the_records_at_its_start_and_goes_on_with_the_plan(records: Home) -> None:
    """A torn page in the middle: what is read may look whole, so nothing is written to it any more."""
    store = records.store()
    with store.transaction():
        for n in range(400):
            store.add_event(at=AT - timedelta(days=99 + n), kind="flushed", recorded_at=AT, said="x" * 200)
    store.close()
    path = records.folder / RECORDS
    whole = path.read_bytes()
    path.write_bytes(whole[:4096 * 9] + b"\xff" * 4096 * 4 + whole[4096 * 13:])
    done = subprocess.run([sys.executable, "-m", "assistant.cli", "chat", "--home", str(records.folder), "--now",
                           "2026-11-25T21:00"], input=f"{SUM}\nflushed with 20 ml just now\nbye\n",
                          capture_output=True, text=True, timeout=60, cwd=ROOT, check=False)
    said = " ".join(done.stdout.split())
    assert "are damaged" in said and "bagside restore" in said
    assert "360 mL" in said and "5 h" in said and "NOT written down" in said


def test_damaged_records_come_with_a_way_out(records: Home, capsys: pytest.CaptureFixture[str]) -> None:
    (records.folder / RECORDS).write_bytes(b"damaged " * 999)
    assert main(["check", "--home", str(records.folder)]) == 3
    assert "bagside restore" in capsys.readouterr().err
    assert main(["restore", "--fresh", "--home", str(records.folder)]) == 0
    assert main(["check", "--home", str(records.folder)]) == 0
    assert [p.read_bytes() for p in records.folder.glob("household_until_*.db")] == [b"damaged " * 999]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_killed_fifty_times_while_logging_nothing_is_lost_or_doubled() -> None:
    done = subprocess.run([sys.executable, str(ROOT / "tests" / "kill_while_logging.py"), "50", "11"],
                          capture_output=True, text=True, timeout=300, cwd=ROOT, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
