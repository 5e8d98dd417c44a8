"""Who may sign in at the desk: names, roles and salted scrypt hashes (RFC 7914) in a file.

The file is JSON, its owner's alone, written whole: {"users": {NAME: {"role", "salt", "hash"}}}, both in hex.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import re
import secrets
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


@dataclass(frozen=True)
class User:
    name: str
    role: str
    proof: str = ""  # a mark of the entry in the file: another role or password, another mark

    def may(self, role: str) -> bool:
        return ROLES.index(self.role) >= ROLES.index(role)


class Users:
    """The file at `path`, read anew at each try: who was taken out of it cannot sign in any more."""

    def __init__(self, path: Path) -> None:
        self.path = path

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

    def right(self, name: str, password: str) -> User | None:
        """The user of that name and password. A name that nobody has costs the same work."""
        found = self._read().get(name)
        salt = bytes.fromhex(found["salt"]) if found else bytes(SALT_BYTES)
        made = _hash(password[:LONGEST], salt)
        right = found and hmac.compare_digest(made, bytes.fromhex(found["hash"]))
        return _user(name, found) if found and right else None

    def still(self, name: str) -> User | None:
        """The user as the file has them now."""
        found = self._read().get(name)
        return _user(name, found) if found else None

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


def _user(name: str, entry: dict[str, str]) -> User:
    told = "\n".join((name, entry["role"], entry["salt"], entry["hash"]))
    return User(name, entry["role"], hashlib.sha256(told.encode()).hexdigest())


def _hash(password: str, salt: bytes) -> bytes:
    return hashlib.scrypt(password.encode("utf-8", "surrogatepass"), salt=salt, n=COST, r=BLOCK, p=LANES, dklen=32)
