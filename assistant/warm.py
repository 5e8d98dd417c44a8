"""Load everything a first message would load."""

from __future__ import annotations

import gc
from datetime import UTC, datetime

ALLOCATED = 50_000  # objects until rubbish is looked for: looking through all that is being loaded took a third of it


def warm() -> None:
    gc.set_threshold(ALLOCATED)
    from assistant.session import Session

    Session(None).say("how long will 500 last at 60", datetime(2026, 1, 1, tzinfo=UTC))
