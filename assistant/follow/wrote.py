"""What the last messages wrote in the log, kept with the conversation: what "undo" takes back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from typing import Any

from assistant.dialogue import Talk
from assistant.night import Night
from rules.feed_state import Event
from rules.quantity import number, qty

KEPT = 8  # messages


@dataclass(frozen=True)
class Entry:
    """An entry of the log; `old`: what it put right, where it did."""

    event: Event
    old: Event | None = None


@dataclass(frozen=True)
class Told:
    """What one message wrote, as far as it is still in the log."""

    said: str
    entries: tuple[Entry, ...]


def noted(talk: Talk, writes: Iterable[dict[str, Any]], said: str) -> Talk:
    """The conversation with the entries that this message wrote; one that wrote none leaves it as it was."""
    made = [
        {"new": _plain(w["event"]), "old": _plain(w["old"]) if w["write"] == "correct" else None}
        for w in writes
        if w["write"] == "event" or (w["write"] == "correct" and "said" in w)
    ]
    return replace(talk, wrote=(*talk.wrote, {"said": said, "entries": made})[-KEPT:]) if made else talk


def told_lately(talk: Talk, night: Night) -> tuple[Told, ...]:
    """The last messages that wrote something that still stands, the latest first."""
    found = []
    for one in reversed(talk.wrote):
        pairs = [(_standing(e["new"], night), _event(e["old"], night)) for e in one["entries"]]
        entries = [Entry(event, old) for event, old in pairs if event is not None]
        if entries:
            found.append(Told(one["said"], tuple(entries)))
    return tuple(found)


def _standing(plain: dict[str, Any], night: Night) -> Event | None:
    wanted = _event(plain, night)
    return next((e for e in reversed(night.events) if e == wanted), None)


def _plain(event: Event) -> dict[str, Any]:
    return {
        "at": event.at.isoformat(),
        "kind": event.kind,
        "volume": None if event.volume is None else str(number(event.volume, "mL")),
        "rate": None if event.rate is None else str(number(event.rate, "mL/h")),
        "feed": event.feed,
    }


def _event(plain: dict[str, Any] | None, night: Night) -> Event | None:
    if plain is None:
        return None
    at = datetime.fromisoformat(plain["at"]).astimezone(night.now.tzinfo)
    volume, rate = plain["volume"], plain["rate"]
    return Event(
        at,
        plain["kind"],
        None if volume is None else qty(Decimal(volume), "mL"),
        None if rate is None else qty(Decimal(rate), "mL/h"),
        plain["feed"],
    )
