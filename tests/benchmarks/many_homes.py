"""Many homes in PostgreSQL: how long the desk takes to find one and to open it. Asserts nothing.

    python tests/benchmarks/many_homes.py [HOMES]      # 100000 unless said; files in memory, so no disk is measured

Every home has the demo child's plan and ten log entries of the last day. They are copied in past the program; what is
measured is the desk's own path: plan, log, week, notes and call-backs read, and the line in the book written first.
"""

from __future__ import annotations

import sys
import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from random import Random

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

from postgres import Cluster, missing  # noqa: E402

NOW = datetime(2026, 11, 26, 6, 10, tzinfo=UTC)
PLAN = (ROOT / "demo" / "child_overnight_pump.toml").read_bytes()
ENTRIES, OPENED = 10, 500


def filled(address: str, homes: int) -> None:
    """The tables made by the program, and the homes copied in."""
    import psycopg

    from assistant.homes.postgres import PostgresHomes

    first = PostgresHomes(address)
    first.find("")
    first.close()
    with psycopg.connect(address) as link:
        with link.cursor().copy("copy homes (home, nickname, plan, plan_since) from stdin") as rows:
            for n in range(homes):
                rows.write_row((f"H-{n:06}", f"child {n}", PLAN, NOW))
        with link.cursor().copy("copy events (home, id, at, kind, volume, recorded_at) from stdin") as rows:
            for n in range(homes):
                for e in range(ENTRIES):
                    at = NOW - timedelta(hours=20 - e, minutes=n % 60)
                    rows.write_row((f"H-{n:06}", e + 1, at, "flushed", "20 mL", at))
        link.execute("analyze")


def report(name: str, work: Callable[[int], object], codes: list[int]) -> None:
    taken = []
    for code in codes:
        began = time.perf_counter()
        work(code)
        taken.append((time.perf_counter() - began) * 1000)
    taken.sort()
    median, p99 = taken[len(taken) // 2], taken[int(len(taken) * 0.99)]
    print(f"{name:34} median {median:8.2f} ms   p99 {p99:8.2f} ms   n={len(taken)}")


def main(homes: int) -> None:
    if why := missing():
        sys.exit(why)
    import psycopg

    from assistant.channels.desk.desk import Desk
    from assistant.channels.desk.users import User, Users
    from assistant.channels.web.household import Clock
    from assistant.homes.postgres import PostgresHomes

    cluster = Cluster()
    try:
        address = cluster.new_database()
        began = time.perf_counter()
        filled(address, homes)
        print(f"{homes} homes, {homes * ENTRIES} entries copied in {time.perf_counter() - began:.0f} s")
        with tempfile.TemporaryDirectory() as folder:
            desk = Desk(PostgresHomes(address), Users(Path(folder) / "users.json"), Clock(NOW))
            nurse, codes = User("nils", "nurse"), Random(7).sample(range(homes), min(OPENED, homes))
            desk.opened(f"H-{codes[0]:06}", nurse)
            with psycopg.connect(address, autocommit=True) as link:
                by_code = "select plan from homes where home = %s"
                report("baseline: one plan by its code",
                       lambda n: link.execute(by_code, [f"H-{n:06}"]).fetchone(), codes)
            report("found by its code", lambda n: desk.listed(f"H-{n:06}"), codes)
            report("opened", lambda n: desk.opened(f"H-{n:06}", nurse), codes)
            desk.homes.close()
    finally:
        cluster.remove()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)
