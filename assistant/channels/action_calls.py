"""One call of an action: the message in the tracker is answered whole, whichever action's name was called."""

from __future__ import annotations

import asyncio
import hashlib
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from rasa_sdk.executor import ActionExecutor

from assistant import actions, dialogue
from assistant.channels.web.household import Clock
from assistant.homes.homes import Homes, good_code
from assistant.household.care_plan import CarePlan
from assistant.household.home import Home
from assistant.household.kept import Kept
from assistant.household.plan_faults import PlanFaults
from assistant.household.store import Store
from assistant.household.unreadable import HouseholdUnreadable
from assistant.session import Session
from assistant.wording import asking
from knowledge.library import table


@dataclass(frozen=True)
class Service:
    """The homes of a service: a sender is the home's code, and after a "/" the name of one of its conversations."""

    homes: Homes

    def home(self, sender: str) -> OneOf:
        """Raises HouseholdUnreadable `no_home` for what is no code."""
        return OneOf(self.homes, good_code(sender.partition("/")[0]))


@dataclass(frozen=True)
class OneOf:
    """One home of a service, as a household's folder is one (plan, store)."""

    homes: Homes
    code: str

    def plan(self) -> CarePlan | None:
        return self.homes.plan(self.code)

    def store(self) -> Store:
        return self.homes.store(self.code)


def answered(of: Home | Service, clock: Clock, tracker: Any) -> tuple[dict[str, Any], Any]:
    """The record for the tracker's latest message, and the conversation after it. Runs outside of any event loop.

    Raises HouseholdUnreadable `no_home` for a sender who is no home; any other fault is said beside an answer.
    """
    home, note = of.home(str(tracker.sender_id)) if isinstance(of, Service) else of, ""
    try:
        plan = home.plan()
    except PlanFaults:
        plan, note = None, table("rasa_en")["says"]["bad_plan"]
    except HouseholdUnreadable as fault:
        if fault.code == "no_home":
            raise
        plan, note = None, str(fault)
    now: datetime = clock.now(plan)
    who = hashlib.sha256(str(tracker.sender_id).encode("utf-8", "replace")).hexdigest()[:24]
    kept = Kept(home.store())
    try:
        session = Session(plan, kept=kept, sender=f"rasa-{who}", now=now, travels=True)
        said = (tracker.latest_message or {}).get("text")
        text, number = said if isinstance(said, str) else "", _message_number(tracker)
        # a conversation from outside that does not fit is dropped: it must not stand between a danger and its card
        for talk in (tracker.get_slot(dialogue.SLOT), None):
            session.tracker.slots[dialogue.SLOT] = talk if dialogue.reads_back(talk) else None
            record = session.say(text, now, number and f"rasa-{who}:{number}")
            if not asking.is_fault(record):
                break
        after = session.tracker.slots[dialogue.SLOT]
    finally:
        kept.close()
    return ({**record, "text": f"{record['text']}\n{note}"} if note else record), after


def _message_number(tracker: Any) -> str | None:
    """The id of the latest message, where the front end gives one."""
    for event in reversed(tracker.events or []):
        if isinstance(event, dict) and event.get("event") == "user":
            found = event.get("message_id")
            return found[:64] if isinstance(found, str) and found else None
    return None


def served(of: Home | Service, clock: Clock) -> Any:
    """The SDK's executor with the name of every action of ours; each of them answers the message."""
    one_by_one, made = ThreadPoolExecutor(max_workers=1), ActionExecutor()

    async def answer_it(dispatcher: Any, tracker: Any, domain: Any) -> list[dict[str, Any]]:
        loop = asyncio.get_running_loop()
        record, talk = await loop.run_in_executor(one_by_one, answered, of, clock, tracker)
        dispatcher.utter_message(text=record["text"], json_message=record)
        return [{"event": "slot", "timestamp": None, "name": dialogue.SLOT, "value": talk}]

    made.actions.update(dict.fromkeys(actions.executor().actions, answer_it))
    return made
