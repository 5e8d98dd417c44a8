"""A household's records as a session uses them: feed log, reminders, conversation; on the disk before a reply."""

from __future__ import annotations

from contextlib import AbstractContextManager
from datetime import datetime, timedelta, tzinfo
from typing import Any

from assistant.household.store import Store
from assistant.household.unreadable import HouseholdUnreadable
from rules.feed_state import Event

LOOKS_BACK = timedelta(days=9)  # a week in one look, and the night before it


class Kept:
    """One household's store. Every method may raise HouseholdUnreadable; what returned is on the disk."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._ids: list[tuple[int, Event]] = []
        self._told_last: datetime | None = None

    def close(self) -> None:
        self._store.close()

    def events(self, now: datetime, zone: tzinfo) -> tuple[Event, ...]:
        """The log of the last days, in the plan's zone."""
        found = self._store.events(since=now - LOOKS_BACK)
        self._told_last = max((e.recorded_at for e in found), default=None)
        self._ids = [(e.id, Event(e.at.astimezone(zone), e.kind, e.volume, e.rate, e.feed)) for e in found]
        return tuple(event for _, event in self._ids)

    def reminders(self, zone: tzinfo) -> tuple[dict[str, str], ...]:
        return tuple(
            {
                "id": str(r.id),
                "due": r.due.astimezone(zone).isoformat(),
                "what": r.what,
                "clock_time": "yes" if r.clock_time else "",
            }
            for r in self._store.reminders()
        )

    def at_once(self) -> AbstractContextManager[Any]:
        """One transaction for everything that one message writes."""
        return self._store.transaction()

    def marks(self, sender: str) -> tuple[int, int]:
        """Numbers that change with the log (reminders too) and with this conversation, whoever writes."""
        return self._store.marks(sender)

    def answered(self, request: str) -> dict[str, Any] | None:
        return self._store.answered(request)

    def keep_answer(self, request: str, record: dict[str, Any], now: datetime) -> None:
        self._store.keep_answer(request, record, now)

    def check(self) -> None:
        """Read the whole file for damage; HouseholdUnreadable where there is any."""
        self._store.check()

    def told_last(self) -> datetime | None:
        """When the latest entry was told, by the clock of that moment."""
        return self._told_last

    def close_reminder(self, number: str, now: datetime) -> bool:
        """Mark a reminder as said; False where another program said it first."""
        return self._store.close_reminder(int(number), now)

    def conversation(self, sender: str) -> dict[str, Any] | None:
        return self._store.turn(sender)

    def keep_conversation(self, sender: str, state: dict[str, Any] | None, now: datetime) -> None:
        if state is not None:
            self._store.save_turn(sender, state, now)

    def write(self, entry: dict[str, Any], now: datetime) -> dict[str, Any]:
        """Write one entry of a reply; gives it back, a reminder with its id."""
        if entry["write"] == "event":
            made = self._store.add_event(recorded_at=now, said=entry.get("said"), **_fields(entry["event"]))
            self._ids.append((made, entry["event"]))
        elif entry["write"] in ("undo", "correct"):
            old = entry["event"] if entry["write"] == "undo" else entry["old"]
            number = next((i for i, e in reversed(self._ids) if e == old), None)
            if number is None:
                raise HouseholdUnreadable("gone", self._store.where)
            self._ids = [(i, e) for i, e in self._ids if i != number]
            if entry["write"] == "undo":
                self._store.undo(number, now)
            else:
                made = self._store.correct(number, now, said=entry.get("said"), **_fields(entry["event"]))
                self._ids.append((made, entry["event"]))
        elif entry["write"] == "reminder":
            reminder = entry["reminder"]
            made = self._store.add_reminder(
                due=datetime.fromisoformat(reminder["due"]),
                what=reminder["what"],
                clock_time=bool(reminder["clock_time"]),
            )
            return {**entry, "reminder": {**reminder, "id": str(made)}}
        elif entry["write"] == "cancel" and "id" in entry["reminder"]:
            self._store.close_reminder(int(entry["reminder"]["id"]), now)
        return entry


def _fields(event: Event) -> dict[str, Any]:
    return {"at": event.at, "kind": event.kind, "volume": event.volume, "rate": event.rate, "feed": event.feed}
