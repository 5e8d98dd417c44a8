"""Pairing: a phone types (or scans) a code from the terminal once and gets a long random token. Tokens are kept hashed.

Codes run out, work once, and ten wrong tries lock pairing until somebody at the terminal asks for a new code.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, nullcontext, suppress
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from assistant.household.safe_file import alone, write_whole

FILE, CODE, LOCK = "paired_phones.json", "pairing_code.json", "pairing.lock"
CODE_LASTS_S = 600
TRIES = 10
DIGITS = 8
MOST = 20  # phones of one household


@dataclass(frozen=True)
class Code:
    hash: str
    ends: float
    wrong: int = 0


class Pairing:
    """`folder` keeps the paired phones and the code that holds now, for every process that serves this household;
    without one they live in memory. Used by any thread. `clock`: seconds, the same for all processes."""

    def __init__(self, folder: Path | None, clock: Callable[[], float] = time.monotonic) -> None:
        self._folder, self._clock, self._busy = folder, clock, threading.Lock()
        self._file = None if folder is None else folder / FILE
        self._code: Code | None = None
        self._phones: list[dict[str, Any]] = []
        self._as_of: tuple[int, ...] = ()

    def new_code(self) -> str:
        """A code for one phone, in the place of the one before; tries count from nought again."""
        with self._alone():
            digits = "".join(secrets.choice("0123456789") for _ in range(DIGITS))
            self._put_code(Code(_hash(digits), self._clock() + CODE_LASTS_S))
            return digits

    def no_code(self) -> None:
        """Whatever code was given holds no more: the server ends."""
        with self._alone():
            self._put_code(None)

    def pair(self, tried: str, name: str) -> tuple[str, str | None]:
        """("paired", token), or what stands against it ("wrong", "over", "locked", "full") and None."""
        with self._alone():
            code = self._held_code()
            if code is None or self._clock() > code.ends:
                return "over", None
            if code.wrong >= TRIES:
                return "locked", None
            digits = "".join(mark for mark in tried if mark.isascii() and mark.isdigit())
            if not hmac.compare_digest(_hash(digits), code.hash):
                self._put_code(replace(code, wrong=code.wrong + 1))
                return ("locked" if code.wrong + 1 >= TRIES else "wrong"), None
            self._read()
            if len(self._phones) >= MOST:
                return "full", None
            self._put_code(None)
            token = secrets.token_urlsafe(32)
            number = max((p["number"] for p in self._phones), default=0) + 1
            since = datetime.now(UTC).isoformat(timespec="seconds")
            self._phones = [*self._phones, {"number": number, "name": name, "since": since, "hash": _hash(token)}]
            self._write()
            return "paired", token

    def knows(self, token: str | None) -> int | None:
        """The number of the phone that has this token; None for a stranger."""
        if not token:
            return None
        with self._busy:
            self._read()
            given = _hash(token)
            return next((p["number"] for p in self._phones if hmac.compare_digest(p["hash"], given)), None)

    def phones(self) -> list[dict[str, Any]]:
        with self._busy:
            self._read()
            return [{n: p[n] for n in ("number", "name", "since")} for p in self._phones]

    def unpair(self, number: int | None) -> int:
        """Forget one phone, or all of them (None). How many were forgotten."""
        with self._alone():
            self._read()
            kept = [p for p in self._phones if number is not None and p["number"] != number]
            gone = len(self._phones) - len(kept)
            if gone:
                self._phones = kept
                self._write()
            return gone

    @contextmanager
    def _alone(self) -> Iterator[None]:
        """No other thread, and no other process of this household, is between reading and writing."""
        with self._busy, nullcontext() if self._folder is None else alone(self._folder / LOCK):
            yield

    def _held_code(self) -> Code | None:
        """The code that any of the processes gave out. A faulty file holds none."""
        if self._folder is None:
            return self._code
        with suppress(OSError, ValueError, TypeError, KeyError):
            found = json.loads((self._folder / CODE).read_bytes())
            return Code(str(found["hash"]), float(found["ends"]), int(found["wrong"])) if found else None
        return None

    def _put_code(self, code: Code | None) -> None:
        self._code = code
        if self._folder is not None:
            write_whole(self._folder / CODE, json.dumps(code and asdict(code)).encode(), replace=True)

    def _read(self) -> None:
        """The phones as they are now: another process may have changed them. Faulty: nobody's."""
        if self._file is None:
            return
        try:
            as_of = self._stamp(self._file)
            if as_of == self._as_of:
                return
            found = json.loads(self._file.read_bytes())
            good = all({"number", "name", "since", "hash"} <= set(p) for p in found)
            self._phones, self._as_of = (list(found) if good else []), as_of
        except (OSError, ValueError, TypeError):
            self._phones, self._as_of = [], ()

    def _write(self) -> None:
        if self._file is None:
            return
        write_whole(self._file, json.dumps(self._phones, indent=1).encode(), replace=True)
        self._as_of = self._stamp(self._file)

    @staticmethod
    def _stamp(file: Path) -> tuple[int, ...]:
        """Another after each writing: a file written whole is a new one, even within one tick of the clock."""
        state = file.stat()
        return state.st_mtime_ns, state.st_ino, state.st_size


def _hash(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()
