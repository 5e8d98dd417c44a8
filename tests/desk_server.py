"""The nurse line's desk as a service starts it, with three users and two homes of the demo, for its tests."""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

import httpx
from conftest import DEMO, ROOT
from page_server import Server

from assistant.channels.desk.users import Users
from assistant.homes.homes import open_homes

NOW = "2026-11-26T02:10-04:00"
PASSWORDS = {"ada": "reads nothing aloud", "nils": "a lamp on the landing", "lena": "seven grey herons"}
ROLES = {"ada": "reader", "nils": "nurse", "lena": "lead"}


def desk(folder: Path, *more: str, now: str = NOW, where: str = "") -> Server:
    """`where`: the address of a database; a folder below `folder` unless said."""
    where = where or str(folder / "homes")
    homes = open_homes(where)
    for code, plan in (("K-17", "child_overnight_pump"), ("K-18", "adult_syringe")):
        homes.put_plan(code, (DEMO / f"{plan}.toml").read_bytes(), datetime(2026, 11, 20, tzinfo=UTC))
    homes.close()
    users = Users(folder / "users.json")
    for name, password in PASSWORDS.items():
        users.put(name, ROLES[name], password)
    return Server("--homes", where, "--users", str(folder / "users.json"), "--now", now, *more,
                  command="desk")


def add_user(folder: Path, name: str, role: str, password: str) -> subprocess.CompletedProcess[str]:
    """`bagside desk user`, as the service's administrator calls it."""
    return subprocess.run(
        [sys.executable, "-m", "assistant.cli", "desk", "user", name, "--role", role, "--users",
         str(folder / "users.json")], input=f"{password}\n", capture_output=True, text=True, cwd=ROOT, check=False)


class Seat:
    """One browser without script at the desk."""

    def __init__(self, server: Server, name: str = "", client: httpx.Client | None = None) -> None:
        """`client`: one that is answered by a certain worker."""
        self.client = client or server.client()
        self.client.headers["origin"] = server.address
        if name:
            assert self.enter(name, PASSWORDS[name]).status_code == 303

    def enter(self, name: str, password: str) -> httpx.Response:
        return self.post("/login", name=name, password=password)

    def get(self, path: str) -> httpx.Response:
        return self.client.get(path)

    def post(self, path: str, **fields: str) -> httpx.Response:
        return self.client.post(path, data=fields)

    def send(self, path: str, fields: dict[str, str]) -> httpx.Response:
        return self.client.post(path, data=fields)

    def __enter__(self) -> Seat:
        return self

    def __exit__(self, *_: object) -> None:
        self.client.close()
