"""What is read from the code of rules/ and of the library: imports, no float, no clock, no sentence, docstrings whose
ranges are those of knowledge/limits, and short files and functions."""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from decimal import Decimal
from inspect import getdoc, signature
from pathlib import Path

import pytest
from test_worked_examples import EXAMPLES, taken

from knowledge.library import load, sources
from rules.calculators import calculator, names
from rules.hang_limit import HangLimit
from rules.outcome import REFUSALS, CannotAnswer
from rules.slip import SLIPS

ROOT = Path(__file__).parent.parent
OURS = sorted([*(ROOT / "rules").rglob("*.py"), ROOT / "knowledge" / "library.py",
               *(ROOT / "knowledge" / "checks").glob("*.py")])
RULES = [path for path in OURS if "rules" in path.relative_to(ROOT).parts]
HEADINGS = ["Takes", "Gives", "Refuses", "Remarks", "Source"]
RANGE = re.compile(r"^    (\w+)\s+(\S+)\s+(-?[\d.]+) to ([\d.]+)\b", re.MULTILINE)
#: ranges that belong to a total or a result and stand in the docstring in words
IN_WORDS = {("intake", "delivered"), ("convert", "temperature"), ("rate_needed", "rate")}


def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def identity(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


def imported(tree: ast.Module) -> Iterator[str]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module


@pytest.mark.parametrize("path", RULES, ids=identity)
def test_rules_import_only_rules_and_the_library(path: Path) -> None:
    for module in imported(tree_of(path)):
        head = module.split(".")[0]
        assert head in {"rules", "pint"} or module == "knowledge.library" or head in sys.stdlib_module_names, module


@pytest.mark.parametrize("path", [path for path in OURS if path not in RULES], ids=identity)
def test_the_library_imports_nothing_of_ours(path: Path) -> None:
    for module in imported(tree_of(path)):
        assert module.split(".")[0] == "knowledge" or module.split(".")[0] in sys.stdlib_module_names, module


@pytest.mark.parametrize("path", RULES, ids=identity)
def test_there_is_no_float_and_no_chance_and_no_clock_in_a_sum(path: Path) -> None:
    for node in ast.walk(tree_of(path)):
        assert not (isinstance(node, ast.Constant) and isinstance(node.value, float)), node.lineno
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            assert node.func.id not in {"float", "open", "print", "round"} or path.name == "quantity.py", node.lineno
        if isinstance(node, ast.Attribute):
            assert node.attr not in {"now", "today", "utcnow", "random"}, node.lineno
    assert not {"random", "time", "os", "sqlite3", "socket"} & set(imported(tree_of(path)))


def spoken(tree: ast.Module) -> Iterator[ast.Constant]:
    """String constants that are no docstring and no message of an error of ours."""
    silent: set[int] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            silent.add(id(node.value))
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in {"TypeError", "ValueError"}:
            silent |= {id(inner) for inner in ast.walk(node)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in silent:
            yield node


@pytest.mark.parametrize("path", [path for path in RULES if path.name != "slip.py"], ids=identity)
def test_there_is_no_sentence_in_a_sum(path: Path) -> None:
    for node in spoken(tree_of(path)):
        assert len(str(node.value).split()) < 3, (node.lineno, node.value)


@pytest.mark.parametrize("path", OURS, ids=identity)
def test_files_and_functions_are_short(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()
    assert len(lines) <= 200 and max(map(len, lines), default=0) <= 120
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.FunctionDef):
            first = node.body[1] if ast.get_docstring(node) and len(node.body) > 1 else node.body[0]
            end = node.end_lineno or node.lineno
            assert end - first.lineno < 40, node.name


def docs(name: str) -> str:
    return getdoc(calculator(name)) or ""


@pytest.mark.parametrize("name", names())
def test_the_docstring_has_its_headings_in_order(name: str) -> None:
    text = docs(name)
    assert text.splitlines()[0].endswith(".")
    assert [line for line in text.splitlines() if line in HEADINGS] == HEADINGS
    named = re.findall(r"^    (\S+)", text.split("Source\n")[1], re.MULTILINE)
    assert named and set(named) <= set(sources())
    refused = re.findall(r"^    (\w+)", text.split("Refuses\n")[1].split("Remarks\n")[0], re.MULTILINE)
    assert refused and set(refused) <= REFUSALS


@pytest.mark.parametrize("name", names())
def test_the_docstring_ranges_are_those_of_the_limits(name: str) -> None:
    takes = docs(name).split("Takes\n")[1].split("\nGives")[0]
    written = {found[0]: (found[1], Decimal(found[2]), Decimal(found[3])) for found in RANGE.findall(takes)}
    held = {amount: (entry["unit"], *(Decimal(end) for end in entry["possible"]))
            for amount, entry in load("limits")[name].items() if (name, amount) not in IN_WORDS}
    assert written == held


@pytest.mark.parametrize("name", names())
def test_the_docstring_names_every_argument_and_all_are_by_keyword(name: str) -> None:
    takes = docs(name).split("Takes\n")[1].split("\nGives")[0]
    for argument in signature(calculator(name)).parameters.values():
        assert argument.kind is argument.KEYWORD_ONLY
        if argument.name not in {"limit_remarks", "sources"}:
            assert re.search(rf"^    {argument.name}\b", takes, re.MULTILINE), argument.name


@pytest.mark.parametrize("name", names())
def test_what_a_calculator_gives_and_remarks_is_in_its_docstring(name: str) -> None:
    text = docs(name)
    remarks = set(re.findall(r"^    (\w+)", text.split("Remarks\n")[1].split("\nSource")[0], re.MULTILINE))
    gives = set(re.findall(r"^    (\w+)", text.split("Gives\n")[1].split("\nRefuses")[0], re.MULTILINE))
    if name == "check_settings":
        remarks |= set(SLIPS)
    for _, example in (parameter.values for parameter in EXAMPLES if parameter.values[0] == name):
        try:
            outcome = calculator(name)(**taken(example))
        except CannotAnswer:
            continue
        assert set(outcome.remarks) <= remarks
        assert set(outcome.figures) <= gives


def test_every_remark_of_the_hang_limit_is_in_its_docstring() -> None:
    for code in ("plan_limit_used", "published_limit_used", "plan_limit_too_long", "infant_powder_limit"):
        assert f"`{code}`" in (getdoc(HangLimit) or "")
