"""Values of a care plan -> TOML text, and -> rows to show. What is written here reads back as the same values."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import ROUND_HALF_UP, Decimal
from typing import Any
from zoneinfo import ZoneInfo

from assistant.household.plan_amounts import FLOZ_US_ML, LB_KG, Amount
from assistant.household.plan_faults import as_written
from assistant.household.plan_keys import REPEATED, SECTIONS, inner_tables
from assistant.household.plan_values import FlushTimes

Values = dict[str, Any]
#: amounts shown beside in a plan with units = "us": our unit -> theirs, and how many of ours one is
BESIDE = {"mL": ("fl oz", FLOZ_US_ML), "kg": ("lb", LB_KG)}


def plain(value: Any) -> Any:
    """A value as JSON and TOML know it: text, number, truth, list. Amounts as "85 mL/h", times as "21:00"."""
    if isinstance(value, Amount):
        return value.text()
    if isinstance(value, ZoneInfo):
        return value.key
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, time):
        return f"{value:%H:%M}"
    if isinstance(value, FlushTimes):
        return [*sorted(value.when), *([f"every {value.every.written or value.every.text()}"] if value.every else [])]
    if isinstance(value, frozenset):
        return sorted(value)
    if isinstance(value, dict):
        return {name: plain(inner) for name, inner in value.items()}
    if isinstance(value, list):
        return [plain(inner) for inner in value]
    return value


def rows(values: Values) -> Iterator[tuple[str, str]]:
    """Every key that the plan holds with its value as people read it, in the order of the key table."""
    us = values.get("units") == "us"
    for path, value in _paths(values, "", ""):
        if isinstance(value, Amount):
            yield path, shown_amount(value, us)
            continue
        shown = plain(value)
        yield path, ", ".join(shown) if isinstance(shown, list) else as_written(shown).strip('"')


def shown_amount(amount: Amount, us: bool) -> str:
    """An amount as the plan has it, with the other unit beside it: "148 lb (67.13 kg)", "240 mL (8.1 fl oz)"."""
    if amount.written:
        beside = _short(amount.number, "0.01")
        return f"{amount.written} ({beside} {amount.unit})"
    if us and amount.unit in BESIDE:
        unit, one = BESIDE[amount.unit]
        return f"{amount.text()} ({_short(amount.number / one, '0.1')} {unit})"
    return amount.text()


def _short(number: Decimal, step: str) -> str:
    """To a step for reading, half up, without zeros at the end."""
    rounded = number.quantize(Decimal(step), ROUND_HALF_UP)
    return f"{rounded:f}".rstrip("0").rstrip(".")


def _paths(values: Values, section: str, path: str) -> Iterator[tuple[str, Any]]:
    for name in SECTIONS[section]:
        if name in values:
            yield (f"{path}.{name}" if path else name), values[name]
    for name, inner in inner_tables(section).items():
        where = f"{path}.{name}" if path else name
        if inner in REPEATED:
            for n, table in enumerate(values.get(name, []), 1):
                yield from _paths(table, inner, f"{where}.{n}")
        elif name in values:
            yield from _paths(values[name], inner, where)


def toml_text(values: Values) -> str:
    """The plan as a TOML file. `values` may hold what plan_reader read, or TOML's own values."""
    parts = ["\n".join(_lines(values, ""))]
    for name, section in inner_tables("").items():
        if section in REPEATED:
            parts += ["\n".join([f"[[{section}]]", *_lines(each, section)]) for each in values.get(name, [])]
        elif values.get(name):
            parts.append("\n".join([f"[{section}]", *_lines(values[name], section)]))
    return "\n\n".join(parts) + "\n"


def _lines(table: Values, section: str) -> Iterator[str]:
    for name in SECTIONS[section]:
        if name in table:
            yield f"{name} = {_toml(table[name])}"
    if section:
        for name in inner_tables(section):
            if table.get(name):
                yield f"{name} = {_toml(table[name])}"


def _toml(value: Any) -> str:
    if isinstance(value, datetime | date):
        return value.isoformat()
    if isinstance(value, dict):
        return "{" + ", ".join(f"{name} = {_toml(each)}" for name, each in value.items()) + "}"
    value = value.written if isinstance(value, Amount) and value.written else plain(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)    # a JSON string is a TOML basic string
    if isinstance(value, list):
        return "[" + ", ".join(_toml(each) for each in value) + "]"
    return str(value)
