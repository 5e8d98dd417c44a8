"""What the desk's pages show, and what they write. In the desk's one thread; each opened record leaves a line."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from assistant.actions.plan import plan_summary
from assistant.channels.desk.signed_in import SignedIn
from assistant.channels.desk.users import User, Users
from assistant.channels.report_commands import cells, days_of
from assistant.channels.web import state
from assistant.channels.web.day_strip import day_strip
from assistant.channels.web.household import Clock
from assistant.channels.web.one_thread import OneThread
from assistant.channels.web.refused import Refused
from assistant.homes.homes import CALL_BACK, DESK, NOTE, OPENED, Entry, Homes, checked_plan, good_code
from assistant.household.kept import Kept
from assistant.household.plan_faults import PlanFaults
from assistant.household.plan_reader import read_values
from assistant.household.plan_writer import rows
from assistant.household.unreadable import HouseholdUnreadable
from assistant.night import Night
from assistant.paper.nurse_call import note, nurse_call
from assistant.session import Session, instant
from assistant.wording.show import show
from knowledge.library import table

URGENT_FIRST = ("emergency", "urgent", "same_day", "routine")


class Desk(OneThread):
    """Homes, users and clock of the desk."""

    def __init__(self, homes: Homes, users: Users, clock: Clock) -> None:
        super().__init__("desk", "desk/", words=table("page_en"), desk=table("desk_en"))
        self.homes, self.clock = homes, clock
        self.signed_in = SignedIn(users, homes.sign_ins)

    async def close(self) -> None:
        await self.stop(self.homes.close)

    # ---- in the thread

    def audit(self, home: str, user: str, text: str) -> None:
        """Who did what. It stands in the book before anything is shown: what cannot be noted is not opened."""
        self.homes.write(Entry(home, 0, self.clock.now(None), user, OPENED, text=text))

    def night(self, home: str) -> tuple[Night, str | None]:
        """The home as it stands, and what is wrong with its log, if anything."""
        plan = self.homes.plan(home)
        now = self.clock.now(plan).astimezone(plan.timezone)
        kept = Kept(self.homes.store(home))
        try:
            session = Session(plan, kept=kept, sender=DESK, now=now)
            night = session.night(now)
            return night, None if session.fault is None else str(session.fault)
        finally:
            kept.close()

    def listed(self, text: str) -> dict[str, Any]:
        return {"search": text, "homes": self.homes.find(text)}

    def opened(self, home: str, user: User) -> dict[str, Any]:
        """One home: plan, tonight, log, week, and the desk's own entries."""
        home = good_code(home)
        data = self.homes.plan_data(home)
        self.audit(home, user.name, "home")
        values, (night, fault) = read_values(data, home), self.night(home)
        lines = table("handover_en")["week"]
        return {
            **self._head(home, night), "fault": fault, "levels": URGENT_FIRST, "plan": list(rows(values)),
            "plan_lines": plan_summary(night)["text"].split("\n") if night.plan else [],
            "state": state.state_of(night, fault), "has_plan": True, "picture": day_strip(night),
            "log": state.log_rows(night), "heads": lines["columns"][:1] + lines["columns"][2:],
            "week": [[cell for i, cell in enumerate(cells(day)) if i != 1] for day in reversed(days_of(night))],
            "notes": [self._entry(e, night.now) for e in self.homes.entries(home, (NOTE,))],
            "calls": [self._entry(e, night.now) for e in self.homes.entries(home, (CALL_BACK,))
                      if e.done_at is None],
        }

    def call(self, home: str, user: User, words: str, answers: Mapping[str, str]) -> dict[str, Any]:
        """The caller's words, read; and the note that they make."""
        home = good_code(home)
        self.homes.plan_data(home)
        self.audit(home, user.name, "call")
        night, fault = self.night(home)
        call = nurse_call(words, night, answers)
        made = note(call, night, home, user.name)
        return {**self._head(home, night), "fault": fault, "call": call,
                "made": f"{fault}\n\n{made}" if fault else made}

    def _head(self, home: str, night: Night) -> dict[str, Any]:
        person, contacts = night.plan.person if night.plan else None, night.plan.contacts if night.plan else None
        return {"home": home, "nickname": getattr(person, "nickname", None) or "", "now": show(night.now, night.now),
                "zone": str(night.now.tzinfo), "emergency": getattr(contacts, "emergency", None)}

    def _entry(self, entry: Entry, now: datetime) -> dict[str, Any]:
        zone = now.tzinfo
        when = {n: v and f"{v.astimezone(zone):%Y-%m-%d %H:%M}" for n, v in
                (("at", entry.at), ("due", entry.due), ("done_at", entry.done_at))}
        return {"home": entry.home, "id": entry.id, "by": entry.by, "level": entry.level, "text": entry.text,
                "kind": entry.kind, "late": bool(entry.due and not entry.done_at and entry.due < now), **when}

    def keep_note(self, home: str, user: User, text: str) -> str:
        """Write a note; the home's code as it is kept."""
        home = good_code(home)
        self.homes.write(Entry(home, 0, self.clock.now(None), user.name, NOTE, text=text))
        return home

    def ask_back(self, home: str, user: User, level: str, due: str, text: str) -> None:
        """A call to make; `due` is a local time of the home. Raises NoSuchNow, Refused."""
        if level not in URGENT_FIRST or not due:
            raise Refused("not_read")
        home = good_code(home)
        at = instant(due, self.homes.plan(home))
        self.homes.write(Entry(home, 0, self.clock.now(None), user.name, CALL_BACK, level, text, at))

    def called(self, home: str, user: User, number: int) -> bool:
        return self.homes.close_call_back(good_code(home), number, self.clock.now(None), user.name)

    def calls(self) -> dict[str, Any]:
        """Calls to make, the most urgent first, each in its home's own time."""
        now = self.clock.now(None)
        return {"calls": [self._entry(e, now.astimezone(self._zone(e.home))) for e in self.homes.open_call_backs()]}

    def _zone(self, home: str) -> Any:
        try:
            return checked_plan(self.homes.plan_data(home), home).timezone
        except (PlanFaults, HouseholdUnreadable):
            return self.clock.now(None).tzinfo  # the call itself must still be seen

    def audit_lines(self, home: str) -> dict[str, Any]:
        """Who opened or did what, newest first; of the desk itself where no home is named."""
        code = good_code(home) if home else DESK
        now = self.clock.now(None)
        return {"home": home, "lines": [self._entry(e, now) for e in self.homes.entries(code, most=200)]}
