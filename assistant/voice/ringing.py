"""Reminders said aloud by the loop: between utterances, and in the quiet hours only what the feed cannot wait with.

A reminder is noted as said only once its last word was played. One that waits for the morning stays due on the page.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta

from assistant.follow.turns import pattern
from assistant.household.unreadable import HouseholdUnreadable
from assistant.session import Session
from assistant.voice.mouth import Manner
from assistant.voice.talker import Said, Talker
from knowledge.library import table

Reminder = dict[str, str]
TRIES_EVERY = timedelta(minutes=1)
CANNOT_WAIT = ("end", "discard", "stop")


class Ringing:
    """The reminders of one household. `say` speaks; `show` gets ("due", words) for the terminal, once for each."""

    def __init__(self, session: Session, talker: Talker, show: Callable[[str, str], None]) -> None:
        self._session, self._talker, self._show = session, talker, show
        self._shown: set[tuple[str, str]] = set()
        self._saying: tuple[Reminder, Said] | None = None
        self._began: datetime | None = None
        self._not_before: datetime | None = None  # after a loudspeaker that failed

    def look(self, now: datetime, manner: Manner, free: bool) -> bool:
        """Say the first that is due and may be said, where nobody speaks (`free`). True where one was begun.

        Records that cannot be read cost no loop: that is said with every reply.
        """
        self._began = self._began or now
        try:
            with self._session.busy:
                self._note(now)
                due = self._session.due(now)
        except HouseholdUnreadable:
            return False
        for one in due:
            self._tell(one, now)
        if not free or self._saying is not None or (self._not_before is not None and now < self._not_before):
            return False
        for one in due:
            if not manner.is_quiet(now) or cannot_wait(one["what"]):
                self._saying = one, self._talker.say(self._line(one, now), manner, now)
                return True
        return False

    def _note(self, now: datetime) -> None:
        """Note the one that was said; one that no loudspeaker played is tried again."""
        if self._saying is None or not self._saying[1].over:
            return
        (one, said), self._saying = self._saying, None
        if said.failed:
            self._not_before = now + TRIES_EVERY
        else:
            self._session.rang(one, now)

    def _tell(self, one: Reminder, now: datetime) -> None:
        if (key := (one["due"], one["what"])) not in self._shown:
            self._shown.add(key)
            self._show("due", self._line(one, now))

    def _line(self, one: Reminder, now: datetime) -> str:
        at = datetime.fromisoformat(one["due"])
        says = table("voice_en")["says"]
        began = self._began or now
        return self._session.worded(says["was_due" if at < began else "due"], at, one["what"], now, aloud=True)


def cannot_wait(what: str) -> bool:
    """Is it about the feed's end, or about what must be thrown away?"""
    return any(pattern(f"reminds_{name}").search(what) for name in CANNOT_WAIT)
