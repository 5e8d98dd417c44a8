"""What tests/mutate does in its copy of the tree: run mutmut over rules/, count, and name the faults that survived."""

from __future__ import annotations

import fnmatch
import os
import re
import subprocess
import sys
import tomllib
from collections import Counter, defaultdict
from pathlib import Path

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
pytest_add_cli_args = ["-p", "no:cacheprovider", "-p", "tests.fresh", "-x"]
pytest_add_cli_args_test_selection = [{tests}]
process_isolation = "forkserver"
use_git_change_detection = false
"""
CAUGHT = ("killed", "timeout", "suspicious", "caught by type check")


def run(names: list[str]) -> str:
    """mutmut's own list of results: one line a mutant."""
    only = [f"rules/{name}.py" for name in names] + [f"rules/*/{name}.py" for name in names] if names else ["rules/*"]
    tests = [f"tests/{name}.py" for name in TESTS if Path(f"tests/{name}.py").exists()]
    text = SETTINGS.format(only=", ".join(f'"{one}"' for one in only), tests=", ".join(f'"{one}"' for one in tests))
    with Path("pyproject.toml").open("a", encoding="utf-8") as file:
        file.write(text)
    jobs = os.environ.get("MUTATE_JOBS", str(os.cpu_count() or 1))
    ran = subprocess.run(["mutmut", "run", "--max-children", jobs], check=False, capture_output=True, text=True)
    if "failed to" in ran.stdout:
        sys.exit("\n".join(ran.stdout.replace("\r", "\n").splitlines()[-20:]))
    return subprocess.run(["mutmut", "results", "--all", "true"], check=True, capture_output=True, text=True).stdout


def main(names: list[str]) -> int:
    found = re.findall(r"^\s*(\S+__mutmut_\d+): (.+)$", run(names), re.MULTILINE)
    if not found:
        sys.exit("no mutant was made: see mutants/ in the copy")
    reasons = tomllib.loads(Path("tests/mutants_left.toml").read_text(encoding="utf-8")).get("left", [])
    counts: dict[str, Counter[str]] = defaultdict(Counter)
    unlisted = []
    for name, state in found:
        caught = state.strip() in CAUGHT
        counts[name.partition(".x")[0]]["caught" if caught else state.strip()] += 1
        if not caught and not any(fnmatch.fnmatch(name, pattern) for left in reasons for pattern in left["mutants"]):
            unlisted.append((name, state))
    for file, states in sorted(counts.items()):
        print(f"{file:44} {states['caught']:5} of {states.total():5}   {dict(states)}")
    caught = sum(states["caught"] for states in counts.values())
    print(f"caught {caught} of {len(found)} ({caught / len(found):.1%}); survivors without a reason: {len(unlisted)}")
    for name, state in unlisted:
        print(f"  {state}: {name}")
        shown = subprocess.run(["mutmut", "show", name], check=False, capture_output=True, text=True).stdout
        print("\n".join(f"      {line}" for line in shown.splitlines() if re.match(r"[+-](?![+-])", line)))
    return 1 if unlisted else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
