"""A process that has the records open several times keeps its locks on them: no other process takes its log away."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import pytest
from conftest import ROOT

from assistant.homes.homes import Entry, open_homes
from assistant.household.store_sqlite import SqliteStore

NOW = datetime(2026, 11, 25, 21, 4, tzinfo=UTC)
HOLDER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from assistant.household.store_sqlite import SqliteStore
now, stores = datetime(2026, 11, 25, 21, 4, tzinfo=UTC), []
for line in sys.stdin:
    if line.strip() == "another":                       # another conversation of the same household: a connection more
        stores.append(SqliteStore(Path(sys.argv[1])))
        stores[-1].events()
    else:
        stores[0].add_event(at=now, kind="flushed", recorded_at=now, note=line.strip())
    print("done", flush=True)
"""


def seen_by_another_program(path: Path) -> list[str | None]:
    """As `bagside log show` beside a server: opened, read and closed again."""
    store = SqliteStore(path)
    found = [event.note for event in store.events()]
    store.close()
    return found


@pytest.mark.parametrize("another", [0, 1, 3])
def test_what_was_acknowledged_is_seen_by_another_program_and_stays(tmp_path: Path, another: int) -> None:
    """Closing a second handle on a SQLite file drops a process's POSIX locks (sqlite.org, "How To Corrupt", 2.2)."""
    path = tmp_path / "household.db"
    holder = subprocess.Popen([sys.executable, "-c", HOLDER, str(path)], cwd=ROOT, text=True, stdin=subprocess.PIPE,
                              stdout=subprocess.PIPE)
    assert holder.stdin is not None and holder.stdout is not None

    def tell(line: str) -> None:
        holder.stdin.write(f"{line}\n")
        holder.stdin.flush()
        assert holder.stdout.readline() == "done\n"

    tell("another")
    tell("first")
    for _ in range(another):
        tell("another")
    assert seen_by_another_program(path) == ["first"]
    tell("second")
    assert seen_by_another_program(path) == ["first", "second"]
    tell("third")
    holder.stdin.close()
    assert holder.wait(timeout=60) == 0
    assert seen_by_another_program(path) == ["first", "second", "third"]


def test_the_desk_s_book_beside_another_program(tmp_path: Path) -> None:
    """The same with the desk's book, which several threads of a process may open."""
    homes, other = open_homes(str(tmp_path)), open_homes(str(tmp_path))
    homes.write(Entry("DESK", 0, NOW, "ann", "opened", text="first"))
    other.entries("DESK")
    script = f"""
from assistant.homes.homes import open_homes
homes = open_homes({str(tmp_path)!r})
print(len(homes.entries("DESK")))
homes.close()
"""
    for n in (1, 2, 3):
        seen = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, cwd=ROOT, check=True)
        assert seen.stdout.strip() == str(n)
        homes.write(Entry("DESK", 0, NOW, "ann", "opened", text="more"))
    homes.close()
    other.close()
