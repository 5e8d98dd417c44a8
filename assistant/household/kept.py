"""A household's records as a session uses them: feed log, reminders, conversation; on the disk before a reply."""

from __future__ import annotations

from datetime import datetime, timedelta, tzinfo
from typing import Any

from assistant.household.store import Store
from rules.feed_state import Event

LOOKS_BACK = timedelta(days=9)  # a week in one look, and the night before it


class Kept:
    """One household's store. Every method may raise HouseholdUnreadable; what returned is on the disk."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._ids: list[tuple[int, Event]] = []

    def close(self) -> None:
        self._store.close()

    def events(self, now: datetime, zone: tzinfo) -> tuple[Event, ...]:
        """The log of the last days, in the plan's zone."""
        found = self._store.events(since=now - LOOKS_BACK)
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

    def conversation(self, sender: str) -> dict[str, Any] | None:
        return self._store.turn(sender)

    def keep_conversation(self, sender: str, state: dict[str, Any] | None, now: datetime) -> None:
        if state is not None:
            self._store.save_turn(sender, state, now)

    def write(self, entry: dict[str, Any], now: datetime) -> dict[str, Any]:
        """Write one entry of a reply; gives it back, a reminder with its id."""
        if entry["write"] == "event":
            event: Event = entry["event"]
            made = self._store.add_event(
                at=event.at,
                kind=event.kind,
                recorded_at=now,
                volume=event.volume,
                rate=event.rate,
                feed=event.feed,
                said=entry.get("said"),
            )
            self._ids.append((made, event))
        elif entry["write"] == "undo":
            number = next((i for i, e in reversed(self._ids) if e == entry["event"]), None)
            if number is not None:
                self._store.undo(number, now)
                self._ids = [(i, e) for i, e in self._ids if i != number]
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
