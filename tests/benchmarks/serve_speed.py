"""How fast the page's server answers beside a Sanic handler that does nothing, on loopback, in the same run.

    python tests/benchmarks/serve_speed.py [--seconds 8] [--connections 16]

Each server is a process of its own (or two: workers of one household); the load is another. Each connection has its own
conversation with the one household. Latencies are of whole requests over kept connections.
Nothing here asserts a time.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from itertools import count
from pathlib import Path

ROOT = Path(__file__).parents[2]
sys.path.insert(0, str(ROOT))

EMPTY = """
import socket, sys
from sanic import Sanic
from sanic.response import json
app = Sanic("empty", configure_logging=False)
@app.post("/api/ask")
async def ask(request):
    return json({})
door = socket.socket(fileno=int(sys.argv[1]))
app.after_server_start(lambda _: print("ready", flush=True))
app.run(sock=door, single_process=True, motd=False, access_log=False)
"""
OURS = """
import socket, sys
from functools import partial
from pathlib import Path
from assistant.channels.serve import app_of
from assistant.channels.web.guard import Rate
from assistant.channels.web.household import Clock
from assistant.channels.workers import serve
from assistant.household.home import open_home, use_plan
folder, workers = Path(sys.argv[2]) if sys.argv[2] else None, int(sys.argv[4])
if folder:
    use_plan(open_home(folder), sys.argv[3])
door = socket.socket(fileno=int(sys.argv[1]))
make = partial(app_of, folder, Clock(None), Rate(1e9, 1e9, shared=workers > 1))
serve(make, door, None, workers, partial(print, "ready", flush=True))
"""


def texts() -> Iterator[str]:
    """The same kind of question with other numbers each time: nothing can be remembered."""
    for n in count():
        yield f"how long will {200 + n % 397} mL last at {50 + n % 41} mL/h"


async def load(port: int, connections: int, seconds: float) -> list[float]:
    """Latencies (ms) of every request of so many connections, each asking again as soon as it is answered."""
    questions, ends, found = texts(), time.perf_counter() + seconds, []

    async def one(number: int) -> None:
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        while time.perf_counter() < ends:
            body = json.dumps({"text": next(questions)}).encode()
            head = f"POST /api/ask HTTP/1.1\r\nhost: 127.0.0.1:{port}\r\ncontent-type: application/json\r\n"
            head += f"cookie: bagside_talk=conversation-{number:05}\r\n"
            began = time.perf_counter()
            writer.write(f"{head}content-length: {len(body)}\r\n\r\n".encode() + body)
            answer = (await reader.readuntil(b"\r\n\r\n")).decode().lower()
            assert answer.startswith("http/1.1 200"), answer
            await reader.readexactly(int(answer.split("content-length: ")[1].split("\r")[0]))
            found.append((time.perf_counter() - began) * 1000)
        writer.close()

    await asyncio.gather(*(one(number) for number in range(connections)))
    return found


def measured(script: str, args: list[str], connections: int, seconds: float) -> tuple[float, float, float]:
    """Median and 99th percentile (ms), and requests a second, after a warm-up."""
    door = socket.socket()
    door.bind(("127.0.0.1", 0))
    door.listen(128)
    port = door.getsockname()[1]
    server = subprocess.Popen([sys.executable, "-c", script, str(door.fileno()), *args], pass_fds=[door.fileno()],
                              cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, stdout=subprocess.PIPE, text=True)
    try:
        assert server.stdout is not None and server.stdout.readline() == "ready\n"  # all its workers answer
        asyncio.run(load(port, connections, 2.0))
        found = sorted(asyncio.run(load(port, connections, seconds)))
    finally:
        server.terminate()
        server.wait()
        door.close()
    return found[len(found) // 2], found[int(len(found) * 0.99)], len(found) / seconds


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--seconds", type=float, default=8.0)
    parser.add_argument("--connections", type=int, default=16)
    wanted = parser.parse_args()
    plan = str(ROOT / "demo" / "child_overnight_pump.toml")
    with tempfile.TemporaryDirectory() as folder:
        rows = (("empty handler", EMPTY, []), ("asked, kept on the disk", OURS, [f"{folder}/home", plan, "1"]),
                ("the same, two workers", OURS, [f"{folder}/home", plan, "2"]),
                ("asked, nothing kept", OURS, ["", "", "1"]))
        for connections in (1, wanted.connections):
            load_now = f"load of the machine {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
            print(f"{connections} connections, {load_now}", flush=True)
            for name, script, args in rows:
                half, most, rate = measured(script, args, connections, wanted.seconds)
                print(f"  {name:26} p50 {half:8.2f} ms   p99 {most:8.2f} ms   {rate:8.0f} a second", flush=True)


if __name__ == "__main__":
    main()
