"""What was worked out or told some time ago in this conversation, and is no longer so."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from assistant.actions import Turn
from assistant.follow.told_ahead import SOON
from assistant.numbers.wants import Ask
from assistant.slots import Slots
from assistant.wording.show import amount, length
from rules.quantity import qty

NOT_LONG = timedelta(minutes=5)
OF_WHAT_HANGS = ("bag_duration", "finish_at")


def gone_by(turn: Turn, last: dict[str, Any]) -> bool:
    """Was it worked out from clock or log, and some time ago? "Two hours from now" is no longer so."""
    moving = any(used["from"] in ("clock", "feed log") for used in last["used"].values())
    return moving and (turn.talk.at is None or turn.night.now - turn.talk.at > NOT_LONG)


def left_a_while_ago(turn: Turn, name: str, slots: Slots) -> None:
    """Ask what hangs now, where the amount was told a while ago and would be counted from this moment."""
    talk, hangs, begins = turn.talk, slots.used.get("volume"), slots.used.get("start")
    if name not in OF_WHAT_HANGS or hangs is None or talk.at is None or talk.asks is not None or slots.has("over"):
        return
    kept = hangs.origin == "question" and "volume" in turn.question.carried and "volume" not in slots.spoken
    from_now = begins is None or begins.origin == "clock"
    since = turn.night.now - talk.at
    if kept and from_now and since > SOON:
        minutes = int(since.total_seconds() // 60)
        raise Ask("volume", code="told_a_while_ago", told=amount(hangs.value), ago=length(qty(minutes, "min")))
