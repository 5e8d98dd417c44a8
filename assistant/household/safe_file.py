"""Files written whole or not at all, readable by their owner alone."""

from __future__ import annotations

import contextlib
import os
import tempfile
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


def _sync_folder(folder: Path) -> None:
    """Make the new name last through a power cut; not every system can."""
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
