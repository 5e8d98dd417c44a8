"""Load everything a first message would load."""

from __future__ import annotations

from datetime import UTC, datetime


def warm() -> None:
    from assistant.session import Session

    Session(None).say("how long will 500 last at 60", datetime(2026, 1, 1, tzinfo=UTC))
