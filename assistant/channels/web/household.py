"""One household behind the page: its plan as it stands now, and a Session for each conversation.

Everything here may wait for the disk or count: the server calls it from one thread of its own (app.py), so that no
two messages are answered at once and the event loop never waits.
"""

from __future__ import annotations

import time
from collections import OrderedDict
from datetime import datetime, timedelta
from typing import Any

from assistant.channels.chat import checked
from assistant.household.care_plan import CarePlan
from assistant.household.home import Home
from assistant.household.kept import Kept
from assistant.household.unreadable import HouseholdUnreadable
from assistant.night import Night
from assistant.session import Session, instant

SHARED = "household"  # the conversation of whoever names none; `bagside chat` goes on with it
OPEN = 32  # conversations held open; an older one is read from the records again


class Clock:
    """This moment, or a moment given at the start and the time since then (practice, tests)."""

    def __init__(self, begin: datetime | None) -> None:
        self.begin, self.started = begin, time.monotonic()

    def now(self, plan: CarePlan | None) -> datetime:
        if self.begin is None:
            return instant(None, plan)
        return self.begin + timedelta(seconds=time.monotonic() - self.started)


class Household:
    """`home` holds plan and records. Without one the plan is `plan`, and one conversation lives in memory alone."""

    def __init__(self, home: Home | None, plan: CarePlan | None, clock: Clock) -> None:
        self.home, self.plan, self.clock = home, plan, clock
        self._open: OrderedDict[str, tuple[Session, Kept | None]] = OrderedDict()
        self._plan_as_of: int | None = -1
        self._unusable: HouseholdUnreadable | None = None
        self._checked = False
        self.cards_made: Any = None  # kept by facts.py: the danger cards as they read for this plan and day

    def now(self) -> datetime:
        return self.clock.now(self.plan)

    def at(self, text: str | None) -> datetime:
        """The instant of a message that names one. Raises NoSuchNow."""
        return self.now() if text is None else instant(text, self.plan)

    def session(self, talk: str) -> Session:
        """The conversation of that name. Raises PlanFaults where the plan was changed and is now faulty."""
        self._read_plan()
        talk = SHARED if self.home is None else talk
        if talk not in self._open:
            self._open[talk] = self._begun(talk)
            while len(self._open) > OPEN:
                oldest = next(name for name in self._open if name != SHARED)
                self._shut(oldest)
        self._open.move_to_end(talk)
        return self._open[talk][0]

    def say(
        self, talk: str, text: str, now: datetime, request: str | None, card: str | None = None
    ) -> dict[str, Any]:
        return self.session(talk).say(text, now, request, card)

    def night(self) -> Night:
        """The household as it stands."""
        session = self.session(SHARED)
        return session.night(self.now())

    def fault(self) -> str | None:
        """What is wrong with the records, in one line for people."""
        found = self.session(SHARED).fault
        return None if found is None else str(found)

    def seen(self, reminder: str) -> bool:
        """Somebody saw a reminder that was due: it rings no more, on no screen. False where it was not open."""
        session, now = self.session(SHARED), self.now()
        session.night(now)
        one = next((r for r in session.due(now) if r.get("id") == reminder), None)
        if one is None:
            return False
        session.rang(one, now)
        return True

    def close(self) -> None:
        for talk in tuple(self._open):
            self._shut(talk)

    def _begun(self, talk: str) -> tuple[Session, Kept | None]:
        if self.home is None:
            return Session(self.plan, now=self.now()), None
        kept = Kept(self.home.store())  # each with a connection of its own: then it sees what the others write
        if not self._checked:
            self._unusable, self._checked = checked(kept), True
        return Session(self.plan, kept=kept, sender=talk, now=self.now(), unusable=self._unusable), kept

    def _shut(self, talk: str) -> None:
        _, kept = self._open.pop(talk)
        if kept is not None:
            kept.close()

    def _read_plan(self) -> None:
        """Take up a plan that was put in the place of the one before, with conversations read anew."""
        if self.home is None:
            return
        try:
            as_of: int | None = self.home.plan_path.stat().st_mtime_ns
        except OSError:
            as_of = None
        if as_of == self._plan_as_of:
            return
        self.plan = self.home.plan()
        self.close()
        self._plan_as_of = as_of
