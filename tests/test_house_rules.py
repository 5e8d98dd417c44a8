"""House rules read from the code: imports go one way, no sentence in rules/, files stay short, starts stay light.

What is special to rules/ and the library stands in test_house_rules_of_sums.py.
"""

from __future__ import annotations

import ast
import subprocess
import sys
import warnings
from collections.abc import Iterator
from pathlib import Path

import pytest
from conftest import DEMO, ROOT

CODE = sorted(p for top in ("assistant", "rules", "knowledge") for p in (ROOT / top).rglob("*.py"))
SOFT_FILE, HARD_FILE = 200, 250          # lines of a file: wanted, and the most that is let through
SOFT_FUNCTION, HARD_FUNCTION = 40, 60
HEAVY = {"spacy", "pint", "rasa_sdk", "sqlite_utils", "numpy", "symspellpy", "rich"}
LAYERS = ("assistant.cli", "assistant.channels", "assistant.voice.hub", "assistant.voice.live", "assistant.voice.loop",
          "assistant.voice.conversation", "assistant.session", "assistant.answer", "assistant.actions",
          "assistant.gather", "assistant.slots", "assistant.numbers.wants")
NAMED = ("assistant.warm",)              # may reach up: it only loads what a first message loads


def identity(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def module(path: Path) -> str:
    return ".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__")


def imported(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def layer(name: str) -> int | None:
    return next((i for i, top in enumerate(LAYERS) if name == top or name.startswith(top + ".")), None)


@pytest.mark.parametrize("path", CODE, ids=identity)
def test_imports_go_one_way(path: Path) -> None:
    name = module(path)
    for other in imported(path):
        top = other.split(".")[0]
        if name.startswith("rules"):
            assert top != "assistant", other
        if name.startswith("knowledge"):
            assert top not in ("assistant", "rules"), other
        mine, theirs = layer(name), layer(other)
        if mine is not None and theirs is not None and name not in NAMED:
            assert mine <= theirs, f"{name} imports {other}"


@pytest.mark.parametrize("path", [p for p in CODE if identity(p).startswith("rules/")], ids=identity)
def test_no_float_stands_in_rules(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        assert not (isinstance(node, ast.Constant) and isinstance(node.value, float)), node.lineno


@pytest.mark.parametrize("path", [p for p in CODE if identity(p).startswith("rules/")], ids=identity)
def test_no_sentence_for_people_stands_in_rules(path: Path) -> None:
    """A sentence: four words or more that begin with a capital and end with a stop, outside docstrings and errors."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    quiet = {id(n.value) for n in ast.walk(tree) if isinstance(n, ast.Expr)}
    quiet |= {id(x) for n in ast.walk(tree) if isinstance(n, (ast.Raise, ast.Assert)) for x in ast.walk(n)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in quiet:
            words = node.value.split()
            assert not (len(words) >= 4 and words[0][:1].isupper() and node.value.endswith((".", "?", "!"))), node.value


def long_ones(path: Path) -> Iterator[tuple[str, int, int, int]]:
    """(what, lines, wanted, most) of the file and of each function in it."""
    text = path.read_text(encoding="utf-8")
    yield identity(path), len(text.splitlines()), SOFT_FILE, HARD_FILE
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, (ast.FunctionDef, ast.AsyncFunctionDef)):
            body = node.body[1:] if ast.get_docstring(node) and len(node.body) > 1 else node.body
            lines = (node.end_lineno or 0) - body[0].lineno + 1
            yield f"{identity(path)}:{node.name}", lines, SOFT_FUNCTION, HARD_FUNCTION


def test_files_and_functions_are_short() -> None:
    found = [entry for path in CODE for entry in long_ones(path)]
    if wordy := [f"{what} ({lines} lines, wanted {soft})" for what, lines, soft, _ in found if lines > soft]:
        warnings.warn("longer than wanted: " + "; ".join(wordy), stacklevel=1)
    assert not [(what, lines) for what, lines, _, hard in found if lines > hard]


def loaded_by(*args: str) -> set[str]:
    """The packages that a command had loaded when it ended."""
    script = ("import sys\nfrom assistant.cli import main\ntry:\n    main(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
              "print('LOADED', *sorted({m.split('.')[0] for m in sys.modules}))")
    done = subprocess.run([sys.executable, "-c", script, *args], capture_output=True, text=True, timeout=60, cwd=ROOT,
                          check=False)
    assert "LOADED" in done.stdout, done
    return set(done.stdout.rsplit("LOADED", 1)[1].split())


@pytest.mark.parametrize("args", [
    ["--version"], ["--help"], ["plan", "check", str(DEMO / "infant_powder.toml")],
    ["plan", "show", str(DEMO / "adult_syringe.toml")],
], ids=lambda args: " ".join(args[:2]))
def test_what_needs_no_sum_loads_no_library(args: list[str]) -> None:
    assert not loaded_by(*args) & HEAVY


@pytest.mark.parametrize("args", [["cards", "tube"], ["card", "tube_out"]], ids=lambda args: args[0])
def test_cards_are_shown_without_the_language_library(args: list[str]) -> None:
    assert "spacy" not in loaded_by(*args)
