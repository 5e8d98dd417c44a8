"""A care plan file, read whole: every value checked, every fault reported at once. Knows no Pint (see care_plan.py).

The values keep the shape of the file: {"route": "gastrostomy", "person": {...}, "feeds": [{...}, ...]}, with
amounts as Amount, dates, times and the zone as Python's own. A key that the file leaves out is left out here too.
"""

from __future__ import annotations

import re
import stat
import tomllib
from decimal import Decimal
from pathlib import Path
from typing import Any

from assistant.household.plan_checks import contradictions
from assistant.household.plan_faults import Fault, PlanFaults, Wrong, as_written, nearest
from assistant.household.plan_keys import REPEATED, SECTIONS, inner_tables
from assistant.household.plan_times import in_zone
from assistant.household.plan_values import read_value
from assistant.household.plan_words import example, sentence

LARGEST_FILE = 262_144
Values = dict[str, Any]


def plan_bytes(path: Path) -> bytes:
    """The bytes of a plan file. Raises PlanFaults: missing, a folder, not a plain file, too large, not allowed."""
    try:
        kind = path.stat()
        if stat.S_ISDIR(kind.st_mode):
            raise _whole_file(path, "a_folder")
        if not stat.S_ISREG(kind.st_mode):
            raise _whole_file(path, "not_a_file")
        if kind.st_size > LARGEST_FILE:
            raise _whole_file(path, "too_large")
        return path.read_bytes()
    except (FileNotFoundError, NotADirectoryError):
        raise _whole_file(path, "no_file", suggestion=_nearest_file(path)) from None
    except (OSError, ValueError) as fault:
        raise _whole_file(path, "cannot_open", why=getattr(fault, "strerror", None) or str(fault)) from None


def read_values(data: bytes | str, file: str) -> Values:
    """The values of the plan in `data`. `file` is its name in the faults. Raises PlanFaults."""
    raw = _parsed(_text(data, file), file)
    reading = _Reading(file, raw)
    values = reading.section(raw, "", "")
    reading.required(values)
    reading.place_steps(values)
    reading.faults += contradictions(values, raw, file)
    if reading.faults:
        raise PlanFaults(reading.faults)
    return values


def _text(data: bytes | str, file: str) -> str:
    coded = data.encode("utf-8", "surrogatepass") if isinstance(data, str) else data
    if b"\0" in coded:
        raise _whole_file(file, "nul")
    try:
        return coded.decode("utf-8-sig")
    except UnicodeDecodeError as fault:
        raise _whole_file(file, "not_utf8", line=coded.count(b"\n", 0, fault.start) + 1) from None


def _parsed(data: str, file: str) -> Values:
    try:
        return tomllib.loads(data, parse_float=Decimal)
    except tomllib.TOMLDecodeError as fault:
        place = re.search(r"\(at (?:line (\d+), column \d+|end of document)\)", str(fault))
        line = int(place[1]) if place and place[1] else data.count("\n") + 1
        text = data.splitlines()[line - 1].strip() if line <= len(data.splitlines()) else ""
        why = re.sub(r"\s*\(at [^()]*\)$", "", str(fault))
        raise _whole_file(file, "not_toml", found=as_written(text) if text else "", line=line, why=why) from None
    except (RecursionError, ValueError, ArithmeticError):       # tables nested or numbers written beyond all reason
        raise _whole_file(file, "not_a_plan") from None


def _whole_file(file: Path | str, code: str, *, suggestion: str | None = None, found: str = "",
                **facts: object) -> PlanFaults:
    return PlanFaults([Fault(str(file), "", found, sentence("faults", code, **facts), suggestion, code)])


def _nearest_file(path: Path) -> str | None:
    try:
        near = nearest(path.name, (other.name for other in path.parent.glob("*.toml")))
    except (OSError, ValueError):
        return None
    return str(path.with_name(near)) if near else None


class _Reading:
    """One pass over one file, gathering faults."""

    def __init__(self, file: str, raw: Values) -> None:
        self.file = file
        units = raw.get("units")
        self.units = units if isinstance(units, str) else None
        self.faults: list[Fault] = []
        self.unread: set[str] = set()           # keys that stand in the file but could not be read

    def fault(self, path: str, found: Any, code: str, suggestion: str | None = None, **facts: object) -> None:
        facts = {"example": example(path), "key": path, **facts}
        written = "" if found is None else as_written(found)
        allowed = sentence("faults", code, **facts)
        self.faults.append(Fault(self.file, path, written, allowed, suggestion, code))

    def section(self, raw: Values, section: str, path: str) -> Values:
        """The values of one table; `path` is where it stands ("feeds.2")."""
        values: Values = {}
        inner = inner_tables(section)
        for name, value in raw.items():
            where = f"{path}.{name}" if path else name
            if name in inner:
                self.table(value, inner[name], where, values, name)
            elif name in SECTIONS[section]:
                self.value(value, section, name, where, values)
            else:
                self.fault(where, value, "unknown_key", _nearest_key(name, section))
        return values

    def table(self, value: Any, section: str, where: str, values: Values, name: str) -> None:
        if section in REPEATED:
            if not isinstance(value, list) or not all(isinstance(each, dict) for each in value):
                self.unread.add(where)
                self.fault(where, value, "list_of_tables", section=section)
                return
            values[name] = [self.section(each, section, f"{where}.{n}") for n, each in enumerate(value, 1)]
        elif isinstance(value, dict):
            values[name] = self.section(value, section, where)
        else:
            self.unread.add(where)
            self.fault(where, value, "a_table", section=section)

    def value(self, value: Any, section: str, name: str, where: str, values: Values) -> None:
        try:
            values[name] = read_value(value, SECTIONS[section][name], where, self.units)
        except Wrong as wrong:
            self.unread.add(where)
            self.fault(where, value, wrong.code, wrong.suggestion, **wrong.facts)

    def required(self, values: Values) -> None:
        """Report what a plan cannot do without, and what a table that is there cannot do without."""
        self._required_in(values, "", "")
        if "formula" not in values and "formula" not in self.unread:
            self.fault("formula.energy", None, "missing")
        if not values.get("feeds") and "feeds" not in self.unread:
            self.fault("feeds", None, "missing_feed")

    def _required_in(self, values: Values, section: str, path: str) -> None:
        for name, key in SECTIONS[section].items():
            where = f"{path}.{name}" if path else name
            if key.required and name not in values and where not in self.unread:
                self.fault(where, None, "missing", choices=", ".join(key.choices))
        for name, inner in inner_tables(section).items():
            where = f"{path}.{name}" if path else name
            tables = values.get(name, [])
            for n, table in enumerate(tables if isinstance(tables, list) else [tables], 1):
                self._required_in(table, inner, f"{where}.{n}" if inner in REPEATED else where)

    def place_steps(self, values: Values) -> None:
        """Put each step's local time into the plan's zone."""
        if "timezone" not in values:
            return
        for n, step in enumerate(values.get("steps", []), 1):
            if "from" not in step:
                continue
            try:
                step["from"] = in_zone(step["from"], values["timezone"])
            except Wrong as wrong:
                self.fault(f"steps.{n}.from", step.pop("from"), wrong.code, wrong.suggestion, **wrong.facts)


def _nearest_key(name: str, section: str) -> str | None:
    """The key meant by a misspelt `name`: one of this table, else of another one."""
    here = nearest(name, [*SECTIONS[section], *inner_tables(section)])
    elsewhere = [f"{other}.{name}" for other, keys in SECTIONS.items() if other and name in keys]
    if elsewhere and (here is None or here.casefold() != name.casefold()):
        return elsewhere[0]
    if here is None:
        every = {key: f"{other}.{key}" for other, keys in SECTIONS.items() if other for key in keys}
        near = nearest(name, every)
        return every[near] if near else None
    return here
