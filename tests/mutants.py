"""What tests/mutate does in its copy of the tree: run mutmut over rules/, count, and name the faults that survived."""

from __future__ import annotations

import ast
import difflib
import fnmatch
import os
import re
import subprocess
import sys
import tomllib
from collections import Counter, defaultdict
from functools import cache
from pathlib import Path
from typing import Any

TESTS = (
    "test_worked_examples", "test_outcomes_as_documented", "test_laws_of_kit", "test_laws_of_nutrition",
    "test_laws_of_order", "test_laws_of_time", "test_quantity", "test_feed_state", "test_figures", "test_seldom_seen",
    "test_clock_changes", "test_log_sums", "test_figures_by_date", "test_timetable_rows", "test_ordered_steps",
)
SETTINGS = """
[tool.mutmut]
source_paths = ["rules"]
only_mutate = [{only}]
also_copy = ["assistant", "knowledge", "demo", "README.md", "DEVELOPERS.md"]
pytest_add_cli_args = [
    "-p", "no:cacheprovider", "-p", "no:unraisableexception", "-p", "no:xdist", "-p", "tests.fresh", "-x",
]
pytest_add_cli_args_test_selection = [{tests}]
process_isolation = "forkserver"
use_git_change_detection = false
"""
CAUGHT = ("killed", "timeout", "suspicious", "caught by type check")


def run(names: list[str]) -> str:
    """mutmut's own list of results: one line a mutant."""
    only = [f"rules/{name}.py" for name in names] + [f"rules/*/{name}.py" for name in names] if names else ["rules/*"]
    text = SETTINGS.format(only=", ".join(f'"{one}"' for one in only),
                           tests=", ".join(f'"tests/{name}.py"' for name in TESTS))
    with Path("pyproject.toml").open("a", encoding="utf-8") as file:
        file.write(text)
    jobs = os.environ.get("MUTATE_JOBS", str(os.cpu_count() or 1))
    ran = subprocess.run(["mutmut", "run", "--max-children", jobs], check=False, capture_output=True, text=True)
    if "failed to" in ran.stdout:
        sys.exit("\n".join(ran.stdout.replace("\r", "\n").splitlines()[-20:]))
    return subprocess.run(["mutmut", "results", "--all", "true"], check=True, capture_output=True, text=True).stdout


def changed(name: str) -> tuple[list[str], list[str]]:
    """The lines that the fault takes out, and those that it puts in."""
    module, _, function = name.partition(".x")
    lines = Path("mutants", *module.split(".")).with_suffix(".py").read_text(encoding="utf-8").splitlines()
    wanted = {"was": re.sub(r"\d+$", "orig", f"x{function}"), "is": f"x{function}"}
    found = {key: [line.replace(wants, "") for line in lines[node.lineno - 1:node.end_lineno]]
             for node in ast.walk(_parsed("\n".join(lines))) if isinstance(node, ast.FunctionDef)
             for key, wants in wanted.items() if node.name == wants}
    rows = list(difflib.ndiff(found["was"], found["is"]))
    return [row[2:].strip() for row in rows if row[0] == "-"], [row[2:].strip() for row in rows if row[0] == "+"]


@cache
def _parsed(text: str) -> ast.Module:
    return ast.parse(text)


def reasoned(name: str, reasons: list[dict[str, Any]]) -> bool:
    """Does tests/mutants_left.toml say why this one may stay?"""
    return any(fnmatch.fnmatch(name, pattern) and left["puts"] in " ".join(changed(name)[1])
               for left in reasons for pattern in left["mutants"])


def main(names: list[str]) -> int:
    found = re.findall(r"^\s*(\S+__mutmut_\d+): (.+?)\s*$", run(names), re.MULTILINE)
    if not found:
        sys.exit("no mutant was made: see mutants/ in the copy")
    reasons = tomllib.loads(Path("tests/mutants_left.toml").read_text(encoding="utf-8")).get("left", [])
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    for name, state in found:
        counts[name.partition(".x")[0]][state] += 1
    total = sum(counts.values(), Counter())
    states = sorted(total, key=lambda state: (state not in CAUGHT, state))
    print(f"{'':32}" + "".join(f"{state:>12}" for state in states))
    for file, number in (*sorted(counts.items()), ("all", total)):
        print(f"{file:32}" + "".join(f"{number[state]:12}" for state in states))
    left = [(name, state) for name, state in found if state not in CAUGHT]
    unlisted = [(name, state) for name, state in left if not reasoned(name, reasons)]
    caught = len(found) - len(left)
    print(f"caught {caught} of {len(found)} ({caught / len(found):.1%}); "
          f"left with a reason: {len(left) - len(unlisted)}, without: {len(unlisted)}")
    for name, state in unlisted:
        took, put = changed(name)
        print(f"  {state}: {name}")
        print("\n".join([f"      - {line}" for line in took] + [f"      + {line}" for line in put]))
    return 1 if unlisted else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
