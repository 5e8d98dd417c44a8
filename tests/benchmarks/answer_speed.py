"""How fast it is, and how large: each figure beside a baseline measured in the same run. Asserts nothing.

    python tests/benchmarks/answer_speed.py [--quick]

Process starts are compared with `python -c pass`, work in a warm process with spaCy's tokenizer on the same text.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
DEMO = ROOT / "demo"
CHILD = str(DEMO / "child_overnight_pump.toml")
TEXT = "just hung 450 on a dry set at ten past nine, running at 72, how long will it last?"
ASK = ["ask", "--plan", CHILD, "--now", "2026-11-25T21:10", TEXT]
sys.path.insert(0, str(ROOT))


def timed(work: Callable[[], object], times: int) -> list[float]:
    """Seconds of each of `times` runs, sorted."""
    found = []
    for _ in range(times):
        started = time.perf_counter()
        work()
        found.append(time.perf_counter() - started)
    return sorted(found)


def report(name: str, seconds: list[float], baseline: list[float], than: str) -> None:
    """One line: median, 99th percentile (the slowest where there are fewer than a hundred), and the ratio."""
    median, p99 = seconds[len(seconds) // 2], seconds[min(len(seconds) - 1, int(len(seconds) * 0.99))]
    ratio = median / baseline[len(baseline) // 2]
    times = f"median {median * 1000:9.2f} ms   p99 {p99 * 1000:9.2f} ms"
    print(f"{name:34} {times}   {ratio:8.1f} x {than}   n={len(seconds)}")


def command(args: list[str], environment: dict[str, str]) -> Callable[[], object]:
    return lambda: subprocess.run([sys.executable, *args], env=environment, cwd=ROOT, check=True, capture_output=True)


def starts(times: int) -> None:
    """Whole processes, from the start to the end."""
    with tempfile.TemporaryDirectory(prefix="bs") as folder:
        base = {**os.environ, "XDG_RUNTIME_DIR": folder, "HOME": folder, "BAGSIDE_HELPER_IDLE": "20",
                "PYTHONPATH": str(ROOT)}
        off, on = {**base, "BAGSIDE_HELPER": "off"}, {**base, "BAGSIDE_HELPER": "on"}
        bare = timed(command(["-c", "pass"], off), times)
        cli = ["-m", "assistant.cli"]
        report("python -c pass", bare, bare, "itself")
        for name, args, environment, count in (
            ("--version", ["--version"], off, times),
            ("plan check", ["plan", "check", CHILD], off, times),
            ("ask, cold, without a helper", ASK, off, max(times // 5, 3)),
            ("ask, the first, starts the helper", ASK, on, 1),
            ("ask, through the helper", ASK, on, times),
        ):
            report(name, timed(command([*cli, *args], environment), count), bare, "python -c pass")
        time.sleep(0.2)


def warm(times: int) -> None:
    """Parts of one answer in a process that has loaded everything."""
    import spacy

    from assistant.channels.ask import answer_once  # noqa: F401  (what a helper holds)
    from assistant.hear import hear
    from assistant.hear.plain import plain
    from assistant.household.care_plan import read_plan
    from assistant.night import Night
    from assistant.session import Session, instant
    from assistant.triage import triage
    from assistant.understand import rank

    plan = read_plan(Path(CHILD))
    now = instant("2026-11-25T21:10", plan)
    night, text = Night(plan, now), plain(TEXT)
    blank = spacy.blank("en")
    Session(plan).say(TEXT, now)
    blank.make_doc(TEXT)
    base = timed(lambda: blank.make_doc(TEXT), times)
    report("spaCy blank make_doc", base, base, "itself")
    for row, (name, work) in enumerate((
        ("whole message, no storage", lambda t: Session(plan).say(t, now)),
        ("amounts and times", lambda t: hear(plain(t))),
        ("rank()", lambda t: rank(plain(t))),
        ("triage()", lambda t: triage(plain(t), night)),
    )):
        line = iter([TEXT.replace("450", str(260 + row * times + n)) for n in range(times)])  # nothing from a cache
        report(name, timed(lambda work=work, line=line: work(next(line)), times), base, "make_doc")
    report("rank() of the same text again", timed(lambda: rank(text), times), base, "make_doc")


def memory() -> None:
    """Resident memory of a warm process beside a bare one, in MB."""
    show = "print(next(x.split()[1] for x in open('/proc/self/status') if x.startswith('VmRSS')))"
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    found = []
    for before in ("", "from assistant.warm import warm; warm(); ", "import spacy; spacy.blank('en'); "):
        script = before + show
        done = subprocess.run([sys.executable, "-c", script], env=environment, cwd=ROOT, check=True, text=True,
                              capture_output=True)
        found.append(int(done.stdout.split()[-1]) / 1024)
    bare, ours, blank = found
    print(f"{'memory of a warm process':34} {ours:7.0f} MB   {ours / bare:.1f} x python -c pass ({bare:.0f} MB)   "
          f"{ours / blank:.1f} x spaCy blank ({blank:.0f} MB)")


if __name__ == "__main__":
    quick = "--quick" in sys.argv
    starts(5 if quick else 25)
    warm(50 if quick else 500)
    if Path("/proc/self/status").exists():
        memory()
