"""Who may sign in at the desk: names, roles and salted scrypt hashes (RFC 7914) in a file; a lock after wrong tries.

The file is JSON, its owner's alone, written whole: {"users": {NAME: {"role", "salt", "hash"}}}, both in hex.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import re
import secrets
import time
from collections import OrderedDict
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.household.safe_file import write_whole
from assistant.household.unreadable import HouseholdUnreadable, from_os

ROLES = ("reader", "nurse", "lead")  # each may do what the one before may
NAME = re.compile(r"[a-z][a-z0-9._-]{0,31}")
SHORTEST, LONGEST = 12, 256  # characters of a password
COST, BLOCK, LANES = 2**14, 8, 1  # scrypt N, r, p: 16 MiB for one try
SALT_BYTES = 16
TRIES, LOCKED_S = 5, 900.0  # wrong passwords in a row, then that long nobody enters by this name
WATCHED = 4096  # names whose wrong tries are kept


@dataclass(frozen=True)
class User:
    name: str
    role: str

    def may(self, role: str) -> bool:
        return ROLES.index(self.role) >= ROLES.index(role)


class Users:
    """The file at `path`, read anew at each try: who was taken out of it cannot sign in any more."""

    def __init__(self, path: Path, clock: Callable[[], float] = time.monotonic) -> None:
        self.path, self._clock = path, clock
        self._wrong: OrderedDict[str, tuple[int, float]] = OrderedDict()

    def put(self, name: str, role: str, password: str) -> None:
        """Add a user, or give one a new role and password. Raises ValueError (the code of a sentence)."""
        if not NAME.fullmatch(name):
            raise ValueError("bad_name")
        if role not in ROLES:
            raise ValueError("bad_role")
        if not SHORTEST <= len(password) <= LONGEST:
            raise ValueError("bad_password")
        salt = secrets.token_bytes(SALT_BYTES)
        found = self._read() if self.path.exists() else {}
        found[name] = {"role": role, "salt": salt.hex(), "hash": _hash(password, salt).hex()}
        data = json.dumps({"users": found}, indent=1, sort_keys=True).encode()
        try:
            write_whole(self.path, data, replace=True)
        except OSError as fault:
            raise from_os(fault, self.path) from fault

    def enter(self, name: str, password: str) -> User | str:
        """The user; or why not: "wrong" (of a name nobody has, too, after the same work) or "locked"."""
        name = name.strip().lower()[:64]
        tries, at = self._wrong.get(name, (0, 0.0))
        if tries >= TRIES:
            if self._clock() - at < LOCKED_S:
                return "locked"
            tries = 0
        found = self._read().get(name)
        salt = bytes.fromhex(found["salt"]) if found else bytes(SALT_BYTES)
        made = _hash(password[:LONGEST], salt)
        if found and hmac.compare_digest(made, bytes.fromhex(found["hash"])):
            self._wrong.pop(name, None)
            return User(name, found["role"])
        self._wrong.pop(name, None)
        self._wrong[name] = (tries + 1, self._clock())
        while len(self._wrong) > WATCHED:
            self._wrong.popitem(last=False)
        return "wrong"

    def still(self, name: str) -> User | None:
        """The user as the file has them now."""
        found = self._read().get(name)
        return User(name, found["role"]) if found else None

    def _read(self) -> dict[str, Any]:
        try:
            data = self.path.read_bytes()
        except OSError as fault:
            raise from_os(fault, self.path) from fault
        with suppress(ValueError, KeyError, TypeError, AttributeError):
            found: dict[str, Any] = json.loads(data)["users"]
            if all(u["role"] in ROLES and bytes.fromhex(u["salt"]) and bytes.fromhex(u["hash"])
                   for u in found.values()):
                return found
        raise HouseholdUnreadable("damaged", self.path)


def _hash(password: str, salt: bytes) -> bytes:
    return hashlib.scrypt(password.encode("utf-8", "surrogatepass"), salt=salt, n=COST, r=BLOCK, p=LANES, dklen=32)


@dataclass
class _Held:
    name: str
    seen: float


class SignedIn:
    """Who is signed in, by the hash of a random token; after an hour without a request nobody is. In memory alone."""

    IDLE_S = 3600.0
    MOST = 1000

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._held: OrderedDict[str, _Held] = OrderedDict()

    def begin(self, user: User) -> str:
        token = secrets.token_urlsafe(32)
        self._held[_key(token)] = _Held(user.name, self._clock())
        while len(self._held) > self.MOST:
            self._held.popitem(last=False)
        return token

    def name(self, token: str | None) -> str | None:
        held = self._held.get(_key(token)) if token and len(token) < 100 else None
        if held is None or token is None:
            return None
        if self._clock() - held.seen > self.IDLE_S:
            self.end(token)
            return None
        held.seen = self._clock()
        return held.name

    def end(self, token: str | None) -> None:
        self._held.pop(_key(token or ""), None)


def _key(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
