"""A large set of names kept small: Python's 64-bit hashes in order, in place of the words (12 bytes a name, not 150).

Hashes differ from process to process, places do not. That a strange name has the hash of a known one is as likely as
one in ten million million; two known names with one hash are refused.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

import numpy as np

NOWHERE = -1


class Names:
    """Names, each with its place in the order in which they were given."""

    def __init__(self, names: Iterable[str]) -> None:
        hashes = np.fromiter(map(hash, names), np.int64)
        order = hashes.argsort(kind="stable")
        self._hashes, self._places = hashes[order], order.astype(np.int32)
        if (self._hashes[1:] == self._hashes[:-1]).any():
            raise ValueError("two names are the same, or have the same hash")

    def places(self, names: Collection[str]) -> list[int]:
        """The place of each of `names`; of one that is not known, NOWHERE."""
        asked = np.fromiter(map(hash, names), np.int64, len(names))
        near = self._hashes.searchsorted(asked)
        near[near == len(self._hashes)] = 0
        found: list[int] = np.where(self._hashes[near] == asked, self._places[near], NOWHERE).tolist()
        return found

    def known(self, names: Collection[str]) -> list[int]:
        """The places of those of `names` that are known."""
        return [place for place in self.places(names) if place != NOWHERE]

    def __contains__(self, name: object) -> bool:
        return isinstance(name, str) and self.places((name,)) != [NOWHERE]

    def __len__(self) -> int:
        return len(self._hashes)
