"""Files written whole or not at all, readable by their owner alone."""

from __future__ import annotations

import contextlib
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

OWNER_ONLY = 0o600


def write_whole(path: Path, data: bytes, *, replace: bool) -> None:
    """Put `data` at `path` in one step: a reader sees the old file or the new one, never half of one.

    Raises FileExistsError where `replace` is false and the file is there, OSError where it cannot be written.
    """
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", dir=path.parent)     # mkstemp: owner only
    try:
        with os.fdopen(handle, "wb") as draft:
            draft.write(data)
            draft.flush()
            os.fsync(draft.fileno())
        if not replace:
            os.close(os.open(path, os.O_CREAT | os.O_EXCL, OWNER_ONLY))     # fails where the file has appeared
        os.replace(name, path)
    finally:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(name)
    _sync_folder(path.parent)


@contextlib.contextmanager
def alone(path: Path) -> Iterator[None]:
    """One process at a time is inside, by a lock on the file at `path`; the system lets go for one that died.

    Raises OSError where the file cannot be made. Where there are no POSIX locks nothing is locked: one process serves.
    """
    try:
        import fcntl
    except ImportError:
        yield
        return
    handle = os.open(path, os.O_RDWR | os.O_CREAT, OWNER_ONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _sync_folder(folder: Path) -> None:
    """Make the new name last through a power cut; not every system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
