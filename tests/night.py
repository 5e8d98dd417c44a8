"""What the tests of the night's log share: a session on a household's records, and a night that was told."""

from __future__ import annotations

from typing import Any

from assistant.household.home import Home
from assistant.household.kept import Kept
from assistant.session import Session, instant


def opened(home: Home, at: str = "2026-11-25T20:45") -> Session:
    return Session(home.plan(), kept=Kept(home.store()), now=instant(at, home.plan()))


def say(session: Session, at: str, text: str, request: str | None = None) -> dict[str, Any]:
    return session.say(text, instant(f"2026-11-{at}", session.plan), request)


def a_night(home: Home) -> Session:
    session = opened(home)
    for at, text in (("25T20:45", "just started the overnight feed at 72 mL/h"), ("25T22:45", "paused it just now"),
                     ("25T23:15", "back on now"), ("25T23:20", "flushed with 20 ml just now"),
                     ("25T23:30", "changed the giving set just now")):
        assert say(session, at, text)["outcome"] in ("done", "answered"), text
    return session
