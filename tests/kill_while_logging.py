"""Kill the program (SIGKILL) at random moments while it writes the log, and look what is there afterwards.

    python tests/kill_while_logging.py [TIMES, default 500] [SEED]

A child process says one flush after the other and acknowledges each "Written down" through a pipe. After the kill
every acknowledged entry must be there once, at most one more (written, not yet acknowledged), and the file whole.
Prints one line; exit code 1 where an entry was lost or doubled.
"""

from __future__ import annotations

import os
import random
import signal
import sys
import tempfile
import time
from collections import Counter
from datetime import datetime, timedelta
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from assistant.household.home import RECORDS, open_home, use_plan  # noqa: E402
from assistant.household.kept import Kept  # noqa: E402
from assistant.household.store_sqlite import SqliteStore  # noqa: E402
from assistant.session import Session, instant  # noqa: E402
from assistant.warm import warm  # noqa: E402

FIRST, MOST = 10, 150       # mL of the first flush; flushes of one round


def say_flushes(folder: Path, to: int) -> None:
    home = open_home(folder)
    plan = home.plan()
    now = instant("2026-11-25T20:00", plan)
    session = Session(plan, kept=Kept(home.store()), now=now)
    for n in range(MOST):
        record = session.say(f"flushed with {FIRST + n} ml", now + timedelta(minutes=n))
        assert record["outcome"] == "done", record["text"]
        os.write(to, bytes([n]))
    time.sleep(60)


def killed_once(folder: Path, chance: random.Random) -> list[str]:
    """One child, killed at a random moment; what was wrong afterwards."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            os.close(read)
            say_flushes(folder, write)
        finally:
            os._exit(3)
    os.close(write)
    first = os.read(read, 1)
    time.sleep(chance.uniform(0, 0.12))
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    acknowledged = list(first)
    while more := os.read(read, 4096):
        acknowledged += list(more)
    os.close(read)
    store = SqliteStore(folder / RECORDS)
    store.check()
    there = Counter(int(event.volume.magnitude) - FIRST for event in store.events() if event.volume is not None)
    store.close()
    faults = [f"acknowledged {n} is there {there[n]} times" for n in acknowledged if there[n] != 1]
    beyond = sorted(set(there) - set(acknowledged))
    if not acknowledged or len(beyond) > 1 or any(times != 1 for times in there.values()):
        faults.append(f"{len(acknowledged)} acknowledged; beyond them {beyond}; {there.most_common(1)}")
    return faults


def main(times: int, seed: int) -> int:
    warm()
    chance, faults, started = random.Random(seed), [], datetime.now()
    for n in range(times):
        with tempfile.TemporaryDirectory(prefix="bs") as folder:
            use_plan(open_home(folder), ROOT / "demo" / "child_overnight_pump.toml")
            faults += [f"round {n}: {fault}" for fault in killed_once(Path(folder), chance)]
    took = (datetime.now() - started).total_seconds()
    print(f"killed {times} times (seed {seed}) in {took:.0f} s: {len(faults)} faults", *faults[:10], sep="\n")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]) if len(sys.argv) > 1 else 500, int(sys.argv[2]) if len(sys.argv) > 2 else 1))
