"""The one exception for a household's data that cannot be read or written."""

from __future__ import annotations

import errno
from pathlib import Path

from assistant.household.plan_words import sentence


class HouseholdUnreadable(Exception):
    """Household data that cannot be used now. Its text is one line for people; nothing was deleted.

    code    name of the sentence in knowledge/plan_questions_en.toml [unreadable]
    """

    exit_code = 3

    def __init__(self, code: str, where: Path | str) -> None:
        self.code = code
        self.where = where
        self.folder = Path(where).parent
        super().__init__(" ".join(sentence("unreadable", code, where=where).split()))


def from_os(fault: OSError, where: Path | str) -> HouseholdUnreadable:
    """What the operating system refused, in our words."""
    codes = {
        errno.EACCES: "not_allowed", errno.EPERM: "not_allowed", errno.EROFS: "read_only",
        errno.ENOSPC: "full", errno.EIO: "full", errno.EDQUOT: "full",
        errno.ENOTDIR: "not_a_folder", errno.EEXIST: "not_a_folder", errno.ENOENT: "no_folder",
    }
    return HouseholdUnreadable(codes.get(fault.errno or 0, "other"), where)
