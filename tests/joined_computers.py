"""Computers of our own for tests/several_computers.py: network namespaces on one bridge, and HAProxy on one of them."""

from __future__ import annotations

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
BRIDGE, HERE = "bagside-br", "10.77.0.1"
DATABASE, ONE, TWO, FRONT = "bagside-db", "bagside-one", "bagside-two", "bagside-front"
ADDRESS = {DATABASE: "10.77.0.10", ONE: "10.77.0.11", TWO: "10.77.0.12", FRONT: "10.77.0.20"}
DESK, ACTIONS = 8615, 5055
NIGHT, SECRET = "2026-11-25T20:45-04:00", "a-long-shared-secret"
BALANCER = """
global
  stats socket {told}
defaults
  mode tcp
  timeout connect 2s
  timeout client 60s
  timeout server 60s
  retries 2
  option redispatch
listen desk
  bind {front}:{desk}
  balance roundrobin
  server one {one}:{desk} check inter 300 fall 1 rise 1
  server two {two}:{desk} check inter 300 fall 1 rise 1
listen actions
  bind {front}:{actions}
  balance roundrobin
  server one {one}:{actions} check inter 300 fall 1 rise 1
  server two {two}:{actions} check inter 300 fall 1 rise 1
"""


def run(*command: str) -> None:
    subprocess.run(command, check=True, capture_output=True)


def on(computer: str) -> tuple[str, ...]:
    return ("ip", "netns", "exec", computer)


@contextlib.contextmanager
def network() -> Iterator[None]:
    """Four computers and a bridge, taken down again whatever happens."""
    take_down()
    try:
        run("ip", "link", "add", BRIDGE, "type", "bridge")
        run("ip", "addr", "add", f"{HERE}/24", "dev", BRIDGE)
        run("ip", "link", "set", BRIDGE, "up")
        for number, (computer, address) in enumerate(ADDRESS.items()):
            run("ip", "netns", "add", computer)
            run("ip", "link", "add", f"bs{number}", "type", "veth", "peer", "name", "eth0", "netns", computer)
            run("ip", "link", "set", f"bs{number}", "master", BRIDGE, "up")
            run(*on(computer), "ip", "link", "set", "lo", "up")
            run(*on(computer), "ip", "addr", "add", f"{address}/24", "dev", "eth0")
            run(*on(computer), "ip", "link", "set", "eth0", "up")
        yield
    finally:
        take_down()


def take_down() -> None:
    for computer in ADDRESS:
        subprocess.run(["ip", "netns", "del", computer], check=False, capture_output=True)
    subprocess.run(["ip", "link", "del", BRIDGE], check=False, capture_output=True)


def wire(computer: str, state: str) -> None:
    run(*on(computer), "ip", "link", "set", "eth0", state)


class Computer:
    """One with a desk and an action server, and a folder that no other has."""

    def __init__(self, name: str, homes: str, users: Path, certificate: tuple[Path, Path]) -> None:
        self.name, self.folder = name, Path(tempfile.mkdtemp(prefix=f"{name}-"))
        for file in (users, *certificate):
            shutil.copy(file, self.folder / file.name)
        (self.folder / "tmp").mkdir()
        mine = [str(self.folder / file.name) for file in (users, *certificate)]
        self.desk = ["desk", "--homes", homes, "--users", mine[0], "--host", ADDRESS[name], "--port", str(DESK),
                     "--tls-cert", mine[1], "--tls-key", mine[2], "--now", NIGHT]
        self.actions = ["actions", "--homes", homes, "--host", ADDRESS[name], "--port", str(ACTIONS), "--now", NIGHT]
        self.running: list[subprocess.Popen[bytes]] = []
        self.start()

    def start(self) -> None:
        environment = {"PATH": os.environ["PATH"], "HOME": str(self.folder), "TMPDIR": str(self.folder / "tmp"),
                       "BAGSIDE_ACTION_TOKEN": SECRET, "PYTHONPATH": str(ROOT), "BAGSIDE_HELPER": "off"}
        said = (self.folder / "said.txt").open("ab")
        self.running = [subprocess.Popen([*on(self.name), sys.executable, "-m", "assistant.cli", *command],
                                         env=environment, cwd=self.folder, stdout=said, stderr=said)
                        for command in (self.desk, self.actions)]

    def kill(self) -> None:
        for process in self.running:
            process.kill()
            process.wait()

    def end(self) -> None:
        self.kill()
        said = (self.folder / "said.txt").read_text("utf-8", "replace")
        if "Traceback" in said:
            print(said)
        shutil.rmtree(self.folder, ignore_errors=True)


def balancer(folder: Path) -> tuple[subprocess.Popen[bytes], Path]:
    """HAProxy in front of both, and the socket at which it tells what it has passed on."""
    told, written = folder / "balancer.sock", folder / "balancer.cfg"
    written.write_text(BALANCER.format(
        told=told, front=ADDRESS[FRONT], one=ADDRESS[ONE], two=ADDRESS[TWO], desk=DESK, actions=ACTIONS))
    return subprocess.Popen([*on(FRONT), "haproxy", "-q", "-f", str(written)]), told


def served(told: Path) -> dict[str, int]:
    """How many connections the balancer has given to each."""
    with socket.socket(socket.AF_UNIX) as asked:
        asked.connect(str(told))
        asked.sendall(b"show stat\n")
        table = b"".join(iter(lambda: asked.recv(65536), b"")).decode()
    rows = [row.split(",") for row in table.splitlines()[1:] if row]
    return {f"{row[0]} {row[1]}": int(row[7]) for row in rows if row[1] in ("one", "two")}


def certificate(folder: Path) -> tuple[Path, Path]:
    made = folder / "desk.crt", folder / "desk.key"
    run("openssl", "req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=desk", "-addext",
        f"subjectAltName=IP:{ADDRESS[FRONT]}", "-out", str(made[0]), "-keyout", str(made[1]))
    return made
