"""The household's folder: the plan in use, the plans before it, and the records (see store_sqlite.py)."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from assistant.household.care_plan import CarePlan
from assistant.household.plan_reader import plan_bytes, read_values
from assistant.household.safe_file import OWNER_ONLY, write_whole
from assistant.household.unreadable import HouseholdUnreadable, from_os

if TYPE_CHECKING:
    from assistant.household.store_sqlite import SqliteStore

PLAN = "care_plan.toml"
HISTORY = "earlier_plans"
RECORDS = "household.db"
OWNER_FOLDER = 0o700


def default_folder() -> Path:
    """Where a household's data is kept when no --home is given: $XDG_DATA_HOME/bagside, ~/.local/share/bagside."""
    given = os.environ.get("XDG_DATA_HOME", "")
    data = Path(given) if os.path.isabs(given) else Path(os.path.expanduser("~")) / ".local" / "share"
    return data / "bagside"


@dataclass(frozen=True)
class Home:
    """One household's folder. Made by open_home; every method may raise HouseholdUnreadable."""

    folder: Path

    @property
    def plan_path(self) -> Path:
        return self.folder / PLAN

    def plan_data(self) -> bytes | None:
        """The plan in use as it stands in its file; None where there is none yet."""
        with _in_our_words(self.folder):
            try:
                return self.plan_path.read_bytes()
            except FileNotFoundError:
                return None

    def plan(self) -> CarePlan | None:
        """The plan in use; None where there is none yet. Raises PlanFaults where it was changed and is now faulty."""
        from assistant.household.plan_file import care_plan

        data = self.plan_data()
        return None if data is None else care_plan(read_values(data, str(self.plan_path)), self.plan_path)

    def store(self) -> SqliteStore:
        """The household's records; loads sqlite-utils."""
        from assistant.household.store_sqlite import SqliteStore

        return SqliteStore(self.folder / RECORDS)


@dataclass(frozen=True)
class PlanInUse:
    """What use_plan did: the plan's new place, and where the plan before it was kept (None: there was none)."""

    path: Path
    kept: Path | None
    changed: bool


def open_home(folder: Path | str | None = None) -> Home:
    """The household in `folder` (default_folder when None); the folder is made, and is its owner's alone."""
    where = Path(folder) if folder is not None else default_folder()
    with _in_our_words(where):
        where.mkdir(mode=OWNER_FOLDER, parents=True, exist_ok=True)
        _owner_only(where)
    return Home(where)


def find_home(folder: Path | str | None = None) -> Home:
    """The household in `folder` for reading only: nothing is made."""
    where = Path(folder) if folder is not None else default_folder()
    with _in_our_words(where):
        if where.exists() and not where.is_dir():
            raise HouseholdUnreadable("not_a_folder", where)
    return Home(where)


def use_plan(home: Home, file: Path | str, at: datetime | None = None) -> PlanInUse:
    """Take the plan in `file` into use and keep the plan before it, byte for byte.

    `at` (now when None) names the kept plan. Raises PlanFaults where the new plan is not good: nothing changes then.
    """
    file = Path(file)
    data = plan_bytes(file)
    read_values(data, str(file))
    return put_plan(home, data, at or datetime.now(UTC))


def put_plan(home: Home, data: bytes, at: datetime) -> PlanInUse:
    """Put a plan that was checked in the place of the one before, which is kept under the name of `at`."""
    with _in_our_words(home.folder):
        before = home.plan_path.read_bytes() if home.plan_path.exists() else None
        if before == data:
            return PlanInUse(home.plan_path, None, False)
        kept = _keep(home, before, at) if before is not None else None
        write_whole(home.plan_path, data, replace=True)
    return PlanInUse(home.plan_path, kept, True)


def _keep(home: Home, data: bytes, at: datetime) -> Path:
    history = home.folder / HISTORY
    history.mkdir(mode=OWNER_FOLDER, exist_ok=True)
    stem = f"care_plan_until_{at.astimezone(UTC):%Y%m%dT%H%M%SZ}"
    for n in range(1, 1000):
        kept = history / (f"{stem}.toml" if n == 1 else f"{stem}_{n}.toml")
        try:
            write_whole(kept, data, replace=False)
        except FileExistsError:
            continue
        return kept
    raise HouseholdUnreadable("other", history)


def _owner_only(folder: Path) -> None:
    """Close the folder to others if it is ours: empty, or holding a household. Another's folder is left as it is."""
    state = folder.stat()
    inside = {entry.name for entry in os.scandir(folder)}
    ours = not inside or bool(inside & {PLAN, RECORDS})
    if ours and os.name == "posix" and state.st_uid == os.geteuid() and stat.S_IMODE(state.st_mode) & 0o077:
        folder.chmod(OWNER_FOLDER)
    plan = folder / PLAN
    if ours and plan.exists() and os.name == "posix" and plan.stat().st_uid == os.geteuid():
        plan.chmod(OWNER_ONLY)


@contextmanager
def _in_our_words(where: Path) -> Iterator[None]:
    try:
        yield
    except OSError as fault:
        raise from_os(fault, where) from fault
