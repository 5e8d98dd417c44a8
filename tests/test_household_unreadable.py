"""Records that cannot be read or written: refused in one sentence, and left as they are."""

from __future__ import annotations

import os
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from test_household_store import DEMO, NOW

from assistant.household.home import RECORDS, Home, find_home, open_home
from assistant.household.store_sqlite import SqliteStore
from assistant.household.unreadable import HouseholdUnreadable


@pytest.fixture
def home(tmp_path: Path) -> Home:
    return open_home(tmp_path / "home")


def refusal(store: SqliteStore) -> HouseholdUnreadable:
    with pytest.raises(HouseholdUnreadable) as caught:
        store.add_event(at=NOW, kind="flushed", recorded_at=NOW)
    assert caught.value.exit_code == 3
    assert "\n" not in str(caught.value) and str(caught.value)
    return caught.value


def test_records_that_are_no_database_are_refused_and_left_alone(home: Home) -> None:
    path = home.folder / RECORDS
    path.write_bytes(b"this is no database at all " * 200)
    assert refusal(home.store()).code == "damaged"
    assert path.read_bytes() == b"this is no database at all " * 200


def test_torn_records_are_refused(home: Home) -> None:
    store = home.store()
    for _ in range(400):
        store.add_event(at=NOW, kind="flushed", recorded_at=NOW, note="x" * 200)
    store.close()
    path = home.folder / RECORDS
    whole = path.read_bytes()
    path.write_bytes(whole[:4096 * 6] + os.urandom(4096 * 4) + whole[4096 * 10:])
    with pytest.raises(HouseholdUnreadable) as caught:
        home.store().check()
    assert caught.value.code == "damaged"


def test_tables_that_lack_a_column_are_refused(home: Home) -> None:
    home.store().events()
    with sqlite3.connect(home.folder / RECORDS) as raw:
        raw.execute("alter table events rename column kind to sort")
    assert refusal(home.store()).code == "damaged"


@pytest.mark.parametrize("change", ["at = 'yesterday'", "volume = '12 buckets'", "volume = '1,5 mL'"])
def test_a_value_that_cannot_be_read_is_refused_not_skipped(home: Home, change: str) -> None:
    store = home.store()
    store.add_event(at=NOW, kind="flushed", recorded_at=NOW)
    with sqlite3.connect(home.folder / RECORDS) as raw:
        raw.execute(f"update events set {change}")
    with pytest.raises(HouseholdUnreadable):
        store.events()


def test_records_of_a_newer_version_are_left_alone(home: Home) -> None:
    home.store().events()
    with sqlite3.connect(home.folder / RECORDS) as raw:
        raw.execute("insert into _sqlite_migrations (migration_set, name, applied_at) "
                    "values ('bagside_household', 'm999_later', 'then')")
    assert refusal(home.store()).code == "newer"


def test_locked_records_are_refused_after_waiting(home: Home, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("assistant.household.store_connection.BUSY_SECONDS", 0.1)
    home.store().events()
    other = sqlite3.connect(home.folder / RECORDS)
    other.execute("begin immediate")
    assert refusal(home.store()).code == "locked"
    other.close()


@pytest.mark.parametrize("kind", ["folder", "file_as_folder"])
def test_a_place_that_cannot_hold_records_is_refused(tmp_path: Path, kind: str) -> None:
    if kind == "folder":
        home = open_home(tmp_path / "home")
        (home.folder / RECORDS).mkdir()
        refusal(home.store())
    else:
        (tmp_path / "home").write_text("a file")
        for open_it in (open_home, find_home):
            with pytest.raises(HouseholdUnreadable):
                open_it(tmp_path / "home")


@pytest.mark.skipif(os.name != "posix", reason="file modes are POSIX")
def test_read_only_records_are_refused(home: Home) -> None:
    home.store().events()
    home.folder.chmod(0o500)
    (home.folder / RECORDS).chmod(0o400)
    script = ("import os, sys\nfrom pathlib import Path\nfrom assistant.household.home import Home\n"
              "from assistant.household.unreadable import HouseholdUnreadable\n"
              "store = Home(Path(sys.argv[1])).store()\n"
              "if os.geteuid() == 0:\n    os.setuid(65534)\n"
              "try:\n    store.events()\nexcept HouseholdUnreadable as fault:\n    print(fault)\n    sys.exit(3)\n")
    done = subprocess.run([sys.executable, "-c", script, str(home.folder)], cwd=DEMO.parent, capture_output=True,
                          text=True, timeout=60, check=False)
    assert (done.returncode, done.stderr) == (3, "")
    assert done.stdout.count("\n") == 1
    home.folder.chmod(0o700)
