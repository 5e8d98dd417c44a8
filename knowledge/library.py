"""The one reader of everything in knowledge/: TOML files, read once, then frozen.

    load("limits")            every file of a folder, by its name without ".toml"
    read("sources.toml")      one file; table("sources") is the same
    sources()                 every published source, from sources.toml and the sources_*.toml beside it
    check()                   every fault of every file at once; an empty tuple when all is well

A folder's own rules live in knowledge/checks/<name>.py as `check(shelf) -> iterable of Fault`. There is no list to
register in: each file of that folder is run.
"""

from __future__ import annotations

import importlib
import tomllib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import Any

FOLDER = Path(__file__).parent
Table = Mapping[str, Any]


@dataclass(frozen=True, order=True)
class Fault:
    """Something an editor has to mend: where it is, what is wrong, and what would mend it."""

    file: str
    key: str
    what: str
    mend: str = ""

    def __str__(self) -> str:
        where = f"{self.file}, {self.key}" if self.key else self.file
        return f"{where}: {self.what}" + (f" ({self.mend})" if self.mend else "")


class KnowledgeFaults(Exception):
    """The library cannot be read. Holds every fault found, not only the first."""

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = tuple(sorted(faults))
        super().__init__("\n".join(str(fault) for fault in self.faults))


def _frozen(value: Any) -> Any:
    if isinstance(value, dict):
        return MappingProxyType({key: _frozen(inner) for key, inner in value.items()})
    if isinstance(value, list):
        return tuple(_frozen(inner) for inner in value)
    return value


class Shelf:
    """The files below one folder. Each is read once; numbers with a point are Decimal."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self._tables: dict[str, Table] = {}
        self._faults: dict[str, Fault] = {}

    def names(self) -> tuple[str, ...]:
        """Every TOML file, relative to the root."""
        return tuple(sorted(path.relative_to(self.root).as_posix() for path in self.root.rglob("*.toml")))

    def read(self, name: str) -> Table:
        """One file, frozen. KnowledgeFaults where it is missing or is not TOML."""
        if name not in self._tables and name not in self._faults:
            try:
                text = (self.root / name).read_bytes().decode("utf-8")
                self._tables[name] = _frozen(tomllib.loads(text, parse_float=Decimal))
            except (OSError, UnicodeDecodeError, tomllib.TOMLDecodeError) as fault:
                self._faults[name] = Fault(name, "", f"cannot be read: {fault}", "mend the file so that it is TOML")
        if name in self._faults:
            raise KnowledgeFaults([self._faults[name]])
        return self._tables[name]

    def folder(self, folder: str) -> Mapping[str, Table]:
        """Every file of a folder by its name. All unreadable files are reported together."""
        found: dict[str, Table] = {}
        faults: list[Fault] = []
        for path in sorted((self.root / folder).glob("*.toml")):
            try:
                found[path.stem] = self.read(path.relative_to(self.root).as_posix())
            except KnowledgeFaults as unread:
                faults.extend(unread.faults)
        if faults:
            raise KnowledgeFaults(faults)
        return MappingProxyType(found)

    def source_files(self) -> tuple[str, ...]:
        return tuple(sorted(path.name for path in self.root.glob("sources*.toml")))

    def sources(self) -> Mapping[str, Table]:
        """Every source by its id. The same id in two files is a fault unless both say the same (see checks)."""
        together: dict[str, Table] = {}
        for name in self.source_files():
            for key, entry in self.read(name).items():
                together.setdefault(key, entry)
        return MappingProxyType(together)

    def faults(self) -> tuple[Fault, ...]:
        """Every fault: first the files that cannot be read, else what the checks of knowledge/checks/ find."""
        unreadable: list[Fault] = []
        for name in self.names():
            try:
                self.read(name)
            except KnowledgeFaults as unread:
                unreadable.extend(unread.faults)
        if unreadable:
            return tuple(sorted(unreadable))
        found: set[Fault] = set()
        for path in sorted((FOLDER / "checks").glob("*.py")):
            if path.stem != "__init__":
                found.update(importlib.import_module(f"knowledge.checks.{path.stem}").check(self))
        return tuple(sorted(found))


@cache
def shelf() -> Shelf:
    return Shelf(FOLDER)


@cache
def load(folder: str) -> Mapping[str, Table]:
    return shelf().folder(folder)


def read(name: str) -> Table:
    return shelf().read(name)


def table(name: str) -> Table:
    """One file by its path without ".toml": table("questions/en/pour")."""
    return shelf().read(f"{name}.toml")


@cache
def sources() -> Mapping[str, Table]:
    return shelf().sources()


def check(root: Path = FOLDER) -> tuple[Fault, ...]:
    return Shelf(root).faults()


def nearest(word: str, allowed: Iterable[str]) -> str:
    """"did you mean ...?" for a fault's `mend`, or the allowed words where none is near."""
    allowed = sorted(allowed)
    near = get_close_matches(word, allowed, n=1)
    return f'did you mean "{near[0]}"?' if near else f"allowed: {', '.join(allowed)[:200]}"
