"""A FHIR resource in a JSON file, read with distrust: bounded size, depth and numbers, and nothing in it forgotten."""

from __future__ import annotations

import json
import stat
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

LARGEST_FILE = 1_000_000        # bytes; an order is a few thousand
DEEPEST, MOST_LEAVES, LONGEST_TEXT = 24, 2_000, 2_000
MOST_DIGITS, LARGEST_POWER = 20, 12
Path_ = tuple[str | int, ...]
MISSING = object()


class NotAnOrder(Exception):
    """A file from which no plan can be made: the code of its sentence (knowledge/fhir_en.toml [refused]), its facts."""

    def __init__(self, code: str, **facts: object) -> None:
        super().__init__(code)
        self.code = code
        self.facts = facts


def resource_in(path: Path) -> dict[str, Any]:
    """The one JSON object in the file, numbers as Decimal. Raises NotAnOrder; reads no more than LARGEST_FILE bytes."""
    try:
        kind = path.stat()
        if not stat.S_ISREG(kind.st_mode):
            raise NotAnOrder("not_a_file")
        if kind.st_size > LARGEST_FILE:
            raise NotAnOrder("too_large")
        data = path.read_bytes()
    except (OSError, ValueError) as fault:
        raise NotAnOrder("cannot_open", why=getattr(fault, "strerror", None) or str(fault)) from None
    return parsed(data)


def parsed(data: bytes) -> dict[str, Any]:
    """The JSON object in `data`. A key written twice and a number that is none (NaN) are refused, never chosen from."""
    try:
        found = json.loads(data.decode("utf-8-sig"), parse_int=_number, parse_float=_number, parse_constant=_no_number,
                           object_pairs_hook=_once)
    except UnicodeDecodeError:
        raise NotAnOrder("not_utf8") from None
    except RecursionError:
        raise NotAnOrder("too_deep") from None
    except json.JSONDecodeError as fault:
        raise NotAnOrder("not_json", line=fault.lineno) from None
    if not isinstance(found, dict):
        raise NotAnOrder("no_object")
    return found


def _number(text: str) -> Decimal:
    number = Decimal(text) if len(text) <= MOST_DIGITS + 8 else Decimal("NaN")
    power = abs(int(number.as_tuple().exponent)) if number.is_finite() else LARGEST_POWER + 1
    if power > LARGEST_POWER or abs(number.adjusted()) > LARGEST_POWER or len(number.as_tuple().digits) > MOST_DIGITS:
        raise NotAnOrder("odd_number")
    return number


def _no_number(text: str) -> Decimal:
    raise NotAnOrder("odd_number")


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found = dict(pairs)
    if len(found) != len(pairs):
        names = [name for name, _ in pairs]
        raise NotAnOrder("twice", key=clean(next(name for name in names if names.count(name) > 1))[:60])
    return found


def clean(text: object) -> str:
    """Text from outside on one line, without signs that could write to a terminal or break a comment."""
    joined = " ".join(str(text).split())
    return "".join(sign if sign.isprintable() else "?" for sign in joined)


class Leaves:
    """Every value of a resource by its path, and which of them have been read. What is left is shown, not dropped."""

    def __init__(self, resource: dict[str, Any]) -> None:
        self._root = resource
        self.values = dict(self._all(resource))
        self._taken: set[Path_] = set()

    @staticmethod
    def _all(root: Any) -> Iterator[tuple[Path_, Any]]:
        open_: list[tuple[Path_, Any]] = [((), root)]
        seen = 0
        while open_:
            path, value = open_.pop()
            inner: list[tuple[Any, Any]] = (list(value.items()) if isinstance(value, dict) else
                                            list(enumerate(value)) if isinstance(value, list) else [])
            if inner and len(path) >= DEEPEST:
                raise NotAnOrder("too_deep")
            if not inner:
                seen += 1
                if seen > MOST_LEAVES:
                    raise NotAnOrder("too_much")
                if isinstance(value, str) and len(value) > LONGEST_TEXT and path[:1] != ("text",):
                    raise NotAnOrder("long_text", where=shown(path))
                yield path, value
            open_ += [((*path, name), each) for name, each in reversed(inner)]

    def take(self, *path: str | int) -> Any:
        """What stands at `path`, all of it marked as read; None where nothing does."""
        value: Any = self._root
        for step in path:
            value = _inside(value, step)
            if value is MISSING:
                return None
        self._taken.update(each for each in self.values if each[:len(path)] == path)
        return value

    def text(self, *path: str | int) -> str:
        """The text at `path`, cleaned; "" where there is none. Raises NotAnOrder where it is no text."""
        value = self.take(*path)
        if value is not None and not isinstance(value, str):
            raise NotAnOrder("malformed", where=shown(path))
        return clean(value or "")

    def count(self, *path: str | int) -> int:
        """How many items the list at `path` holds; 0 where there is none. Raises NotAnOrder where it is no list."""
        value: Any = self._root
        for step in path:
            if not isinstance(value, (dict, list)):
                raise NotAnOrder("malformed", where=shown(path))
            value = _inside(value, step)
            if value is MISSING:
                return 0
        if not isinstance(value, list) or not value:
            raise NotAnOrder("malformed", where=shown(path))
        return len(value)

    def has(self, *path: str | int) -> bool:
        return any(each[:len(path)] == path for each in self.values)

    def unread(self, *below: str | int) -> list[tuple[str, str]]:
        """What nobody read, below a path: where it stands, and what stands there, one line for each object."""
        groups: dict[Path_, list[str]] = {}
        for path, value in self.values.items():
            if path not in self._taken and path[:len(below)] == below:
                place = path[:-1] if len(path) > 1 else path
                groups.setdefault(place, []).append(_said(path, value) if len(path) > 1 else clean(value))
        return [(shown(path), ", ".join(said)) for path, said in groups.items()]


def _inside(value: Any, step: str | int) -> Any:
    """One step into an object or a list; MISSING where it leads nowhere."""
    if isinstance(value, dict):
        return value.get(step, MISSING)
    return value[step] if isinstance(value, list) and isinstance(step, int) and step < len(value) else MISSING


def _said(path: Path_, value: Any) -> str:
    name = f"{path[-1]} " if isinstance(path[-1], str) else ""
    return name + (clean(value) if value is not None and value != {} and value != [] else "-")


def shown(path: Path_) -> str:
    """A path as people write it: enteralFormula.administration[1].rateQuantity."""
    text = "".join(f"[{step + 1}]" if isinstance(step, int) else f".{step}" for step in path)
    return clean(text.lstrip("."))[:200]
