"""The sentences of the plan checker and the plan commands, read once from knowledge/plan_questions_en.toml."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

import knowledge

FILE = "plan_questions_en.toml"


@cache
def words() -> dict[str, Any]:
    """The whole file: tables `faults`, `says`, `unreadable`, `warnings`, `possible`, `examples`, `question`."""
    return tomllib.loads(Path(str(knowledge.__file__)).with_name(FILE).read_text(encoding="utf-8"))


def sentence(table: str, code: str, **facts: object) -> str:
    """The sentence `code` of `table` with its facts filled in. KeyError where there is no such sentence or fact."""
    template: str = words()[table][code]
    return template.format(**facts)


def example(path: str) -> str:
    """An example of what to write for a key, without its place in a list ("feeds.2.rate" -> "feeds.rate")."""
    name = ".".join(part for part in path.split(".") if not part.isdigit())
    found: str = words()["examples"].get(name, "")
    return found
