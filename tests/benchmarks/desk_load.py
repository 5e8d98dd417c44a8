"""Nurses at the desk, each asking again as soon as it is answered, beside a Sanic handler that does nothing.

    python tests/benchmarks/desk_load.py [--callers 50] [--seconds 300] [--workers 2] [--homes 1000]

The desk runs as a service runs it: `bagside desk --workers N`, homes in PostgreSQL (its files in memory), the guard and
its rate at their usual settings. Each caller has an address of its own (127.0.0.x), signs in, and goes round: open a
home of its own choice, read the caller's words in it, keep a note. What is not answered 200 or 303 counts as an error.
Nothing here asserts a time. What else ran on the machine is told by its load before and after.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from datetime import UTC, datetime
from pathlib import Path
from random import Random
from urllib.parse import urlencode

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests"), str(ROOT / "tests" / "benchmarks")]

from page_server import Server  # noqa: E402
from postgres import Cluster, missing  # noqa: E402
from serve_speed import EMPTY  # noqa: E402

PASSWORD = "a lamp on the landing"
PLAN = (ROOT / "demo" / "child_overnight_pump.toml").read_bytes()
WORDS = ("she vomited {n} times since midnight", "how long will {v} mL last at {r} mL/h", "the pump says occlusion",
         "he is coughing and pale", "how much is {r} mL/h in 3 hours", "the tube came out {n} hours ago")


class Caller:
    """One browser: a kept connection from an address of its own, and its cookie."""

    def __init__(self, port: int, number: int) -> None:
        self.port, self.address, self.cookie = port, f"127.0.0.{number + 2}", ""
        self.chance = Random(number)

    async def open(self) -> None:
        self.reader, self.writer = await asyncio.open_connection("127.0.0.1", self.port, local_addr=(self.address, 0))

    async def send(self, method: str, path: str, **fields: str) -> tuple[int, str]:
        """Status and head of the answer."""
        body, host = urlencode(fields).encode(), f"127.0.0.1:{self.port}"
        head = f"{method} {path} HTTP/1.1\r\nhost: {host}\r\norigin: http://{host}\r\ncookie: {self.cookie}\r\n"
        if method == "POST":
            head += f"content-type: application/x-www-form-urlencoded\r\ncontent-length: {len(body)}\r\n"
        self.writer.write(f"{head}\r\n".encode() + body)
        answer = (await self.reader.readuntil(b"\r\n\r\n")).decode()
        length = answer.lower().partition("content-length: ")[2].partition("\r")[0]
        await self.reader.readexactly(int(length or 0))
        return int(answer.split(" ", 2)[1]), answer

    async def sign_in(self) -> None:
        status, head = await self.send("POST", "/login", name="nils", password=PASSWORD)
        assert status == 303, head
        self.cookie = "bagside_desk=" + head.partition("bagside_desk=")[2].partition(";")[0]

    def next(self, homes: int) -> tuple[str, str, str, dict[str, str]]:
        home = f"/home/H-{self.chance.randrange(homes):05}"
        words = self.chance.choice(WORDS).format(n=self.chance.randrange(2, 6), v=self.chance.randrange(100, 600),
                                                 r=self.chance.randrange(40, 90))
        return self.chance.choice((("opened", "GET", home, {}), ("call", "POST", f"{home}/call", {"words": words}),
                                   ("note", "POST", f"{home}/note", {"note": words})))


async def load(port: int, callers: int, seconds: float, homes: int) -> tuple[dict[str, list[float]], list[int]]:
    """Milliseconds by kind, and the statuses that are errors. No homes: the empty handler."""
    found, errors, everyone = defaultdict(list), [], [Caller(port, n) for n in range(callers)]
    for one in everyone:
        await one.open()
        if homes:
            await one.sign_in()
    ends = time.perf_counter() + seconds

    async def go_round(one: Caller) -> None:
        while time.perf_counter() < ends:
            kind, method, path, fields = one.next(homes) if homes else ("empty", "POST", "/api/ask", {"a": "b"})
            began = time.perf_counter()
            try:
                status, _ = await one.send(method, path, **fields)
            except (OSError, asyncio.IncompleteReadError):
                status = 0
                await one.open()
            found[kind].append((time.perf_counter() - began) * 1000)
            if status not in (200, 303):
                errors.append(status)

    await asyncio.gather(*(go_round(one) for one in everyone))
    return found, errors


def told(name: str, taken: list[float], seconds: float) -> None:
    taken = sorted(taken)
    print(f"{name:8} n={len(taken):7}  {len(taken) / seconds:8.1f} a second   p50 {taken[len(taken) // 2]:8.1f} ms   "
          f"p99 {taken[int(len(taken) * 0.99)]:8.1f} ms   most {taken[-1]:8.1f} ms", flush=True)


def empty(callers: int, seconds: float) -> None:
    door = socket.create_server(("127.0.0.1", 0))
    server = subprocess.Popen([sys.executable, "-c", EMPTY, str(door.fileno())], pass_fds=[door.fileno()])
    try:
        found, errors = asyncio.run(load(door.getsockname()[1], callers, seconds, 0))
        told("empty", found["empty"], seconds)
        print(f"errors {len(errors)}")
    finally:
        server.terminate()
        server.wait()


def main() -> None:
    parser = argparse.ArgumentParser()
    for name, usual in (("callers", 50), ("seconds", 300), ("workers", 2), ("homes", 1000)):
        parser.add_argument(f"--{name}", type=int, default=usual)
    wanted = parser.parse_args()
    if why := missing():
        sys.exit(why)
    from assistant.channels.desk.users import Users
    from assistant.homes.homes import open_homes

    cluster = Cluster()
    try:
        where, now = cluster.new_database(), datetime.now(UTC)
        homes = open_homes(where)
        for n in range(wanted.homes):
            homes.put_plan(f"H-{n:05}", PLAN, now)
        homes.close()
        with tempfile.TemporaryDirectory() as folder:
            users = Path(folder) / "users.json"
            Users(users).put("nils", "nurse", PASSWORD)
            server = Server("--homes", where, "--users", str(users), "--workers", str(wanted.workers), command="desk")
            print(f"{wanted.callers} callers, {wanted.workers} workers, {wanted.homes} homes; load before "
                  f"{os.getloadavg()[0]:.1f} on {os.cpu_count()} cores", flush=True)
            found, errors = asyncio.run(load(server.port, wanted.callers, wanted.seconds, wanted.homes))
            for kind in sorted(found):
                told(kind, found[kind], wanted.seconds)
            told("all", [one for kind in found.values() for one in kind], wanted.seconds)
            print(f"errors {len(errors)} {sorted(set(errors)) or ''}; load after {os.getloadavg()[0]:.1f}", flush=True)
            server.stop()
        empty(wanted.callers, min(60, wanted.seconds))
    finally:
        cluster.remove()


if __name__ == "__main__":
    main()
