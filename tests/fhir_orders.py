"""Orders for the tests of the import: HL7's examples, changed in one place, imported with typed answers."""

from __future__ import annotations

import copy
import io
import json
from pathlib import Path
from typing import Any

import pytest

from assistant.channels.plan_commands import main

EXAMPLES = Path(__file__).parent / "fhir"
RELEASES = ("r4", "r4b", "r5")
Capture = pytest.CaptureFixture[str]


def example(release: str, name: str) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((EXAMPLES / release / f"{name}.json").read_text(encoding="utf-8"))
    return found


class Import:
    """One import with its typed answers: exit code, what was printed, the plan's path."""

    def __init__(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Capture) -> None:
        self.folder, self._patch, self._capsys = tmp_path, monkeypatch, capsys
        self.plan = tmp_path / "plan.toml"
        self.out = ""

    def __call__(self, order: dict[str, Any] | bytes, *answers: str, yes: bool = True) -> int:
        file = self.folder / "order.json"
        file.write_bytes(order if isinstance(order, bytes) else json.dumps(order).encode())
        self._patch.setattr("sys.stdin", io.StringIO("".join(f"{answer}\n" for answer in answers)))
        code = main(["import", *(["--yes"] if yes else []), str(file), str(self.plan)])
        captured = self._capsys.readouterr()
        assert not captured.err
        self.out = captured.out
        return code


def changed(order: dict[str, Any], *path: Any, to: Any = None) -> dict[str, Any]:
    """The order with one value put in place of another; None takes it away."""
    order = copy.deepcopy(order)
    place: Any = order
    for step in path[:-1]:
        place = place.setdefault(step, {}) if isinstance(place, dict) else place[step]
    if to is None:
        del place[path[-1]]
    else:
        place[path[-1]] = to
    return order


F, A = "enteralFormula", ("enteralFormula", "administration", 0)
REPEAT = (*A, "schedule", "repeat")
