"""Signing in at the desk: a password against the user file, a lock after wrong tries, and a token for the cookie.

Tokens are kept hashed with the homes' records, so that every process and every desk of one service knows them.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable
from datetime import UTC, datetime, timedelta

from assistant.channels.desk.users import User, Users
from assistant.homes.sign_ins import SignIn, SignIns

TRIES, LOCKED = 5, timedelta(minutes=15)  # wrong passwords in a row, then that long nobody enters by this name
IDLE, WHOLE = timedelta(hours=1), timedelta(hours=12)  # without a request; and at most, a shift
SEEN_EVERY = timedelta(minutes=1)  # not each request is written down


def this_moment() -> datetime:
    return datetime.now(UTC)


class SignedIn:
    """Every method may raise HouseholdUnreadable: nobody is let in by what cannot be read."""

    def __init__(self, users: Users, kept: SignIns, clock: Callable[[], datetime] = this_moment) -> None:
        self._users, self._kept, self._clock = users, kept, clock

    def enter(self, name: str, password: str) -> User | str:
        """The user; or why not: "wrong" (of a name nobody has, too, after the same work) or "locked"."""
        name = name.strip().lower()[:64].replace("\0", "")
        if not self._kept.try_by(name, self._clock(), TRIES, LOCKED):
            return "locked"
        found = self._users.right(name, password)
        if found is None:
            return "wrong"
        self._kept.forgive(name)
        return found

    def begin(self, user: User) -> str:
        """The token of a new sign-in."""
        token, now = secrets.token_urlsafe(32), self._clock()
        self._kept.begin(_key(token), SignIn(user.name, user.role, user.proof, now, now + WHOLE))
        return token

    def user(self, token: str | None) -> User | None:
        """Who has this token, as the user file has them now. Another role or password there ends the sign-in."""
        if not token or len(token) > 100:
            return None
        key, now = _key(token), self._clock()
        held = self._kept.held(key)
        if held is None:
            return None
        found = self._users.still(held.name)
        if found is None or found.proof != held.proof or now >= held.ends_at or now - held.seen_at > IDLE:
            self._kept.end(key)
            return None
        if now - held.seen_at > SEEN_EVERY:
            self._kept.seen(key, now)
        return found

    def end(self, token: str | None) -> None:
        if token and len(token) <= 100:
            self._kept.end(_key(token))


def _key(token: str) -> str:
    return hashlib.sha256(token.encode("utf-8", "surrogatepass")).hexdigest()
