"""Station 6: rasa-sdk actions, run in this process by the SDK's own executor on one kept event loop.

Each action finds its turn in the tracker's latest message and hands back a record (as the message's `custom` part), the
conversation (slot "talk") and what is to be written down (slot "written"). The same classes can be served over HTTP.
"""

from __future__ import annotations

import asyncio
import importlib
import pkgutil
from dataclasses import dataclass
from functools import cache
from typing import Any

from rasa_sdk import Action, Tracker
from rasa_sdk.executor import ActionExecutor

from assistant import dialogue
from assistant.asked.question import Question
from assistant.night import Night
from assistant.numbers.said import Said
from assistant.triage import Alarm

WRITTEN = "written"


@dataclass(frozen=True)
class Turn:
    """What one action works on."""

    question: Question
    said: Said
    night: Night
    talk: dialogue.Talk
    alarms: tuple[Alarm, ...] = ()


@dataclass(frozen=True)
class Result:
    record: dict[str, Any]
    talk: dialogue.Talk
    events: tuple[dict[str, Any], ...] = ()


class TurnAction(Action):
    """An action of ours: `do(turn)` gives the Result; the SDK's shapes are made here."""

    intents: tuple[str, ...] = ()

    def __init__(self, intent: str) -> None:
        self.intent = intent

    def name(self) -> str:
        return f"action_{self.intent}"

    def do(self, turn: Turn) -> Result:
        raise NotImplementedError

    async def run(self, dispatcher: Any, tracker: Tracker, domain: dict[str, Any]) -> list[dict[str, Any]]:
        result = self.do(tracker.latest_message["metadata"]["turn"])
        dispatcher.utter_message(text=result.record["text"], json_message=result.record)
        return [
            {"event": "slot", "timestamp": None, "name": dialogue.SLOT, "value": result.talk},
            {"event": "slot", "timestamp": None, "name": WRITTEN, "value": result.events},
        ]


@cache
def executor() -> ActionExecutor:
    """The SDK's executor with every action of this folder, one instance for each intent an action serves."""
    made = ActionExecutor()
    for module in pkgutil.iter_modules(__path__):
        for kind in vars(importlib.import_module(f"{__name__}.{module.name}")).values():
            if isinstance(kind, type) and issubclass(kind, TurnAction) and kind is not TurnAction:
                for intent in kind.intents:
                    action = kind(intent)
                    made.actions[action.name()] = action.run
    return made


@cache
def _loop() -> asyncio.AbstractEventLoop:
    return asyncio.new_event_loop()


def act(
    question: Question, said: Said, night: Night, talk: dialogue.Talk, alarms: tuple[Alarm, ...], tracker: Tracker
) -> Result:
    """Run the action of a question's intent on this turn."""
    turn = Turn(question, said, night, talk, alarms)
    name = f"action_{question.name}"
    call = {
        "next_action": name if name in executor().actions else "action_not_yet",
        "sender_id": tracker.sender_id,
        "version": None,
        "domain": {},
        "tracker": {
            "sender_id": tracker.sender_id,
            "slots": {},
            "latest_message": {"text": said.heard.text, "metadata": {"turn": turn}},
            "events": [],
            "paused": False,
            "followup_action": None,
            "active_loop": {},
            "latest_action_name": None,
        },
    }
    ran = _loop().run_until_complete(executor().run(call))
    assert ran is not None
    slots = {e["name"]: e["value"] for e in ran.events}
    return Result(ran.responses[0]["custom"], slots[dialogue.SLOT], slots[WRITTEN])
