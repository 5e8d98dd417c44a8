"""What a conversation remembers: the last question and its slots, the one question asked back, the last answer.

It lives in a slot of the rasa-sdk tracker as plain JSON, so that it can travel to an action server or a store.
A day later a conversation starts afresh.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from rasa_sdk import Tracker

from assistant.message import Reading
from assistant.numbers.wants import Used
from rules.quantity import is_amount, number, qty, unit_of

SLOT = "talk"
AFRESH = timedelta(hours=24)
KEPT = 6  # earlier questions that "back to the bag" can return to


@dataclass(frozen=True)
class Talk:
    question: str | None = None  # the question answered or asked about last
    slots: dict[str, Used] = field(default_factory=dict)
    asks: str | None = None  # the slot asked back, while unanswered
    code: str | None = None  # and the wording it was asked with
    choices: tuple[dict[str, Any], ...] = ()
    last_slot: str | None = None  # the slot filled or changed last: "no, 65" means it
    answer: dict[str, Any] | None = None  # the last answer's record, for "why"
    last: dict[str, Any] | None = None  # the last reply of any kind, for "again"
    feed: str | None = None  # the feed that was named last
    text: str = ""  # the message that asked it
    earlier: tuple[tuple[str, dict[str, Used]], ...] = ()
    guide: dict[str, Any] | None = None  # the walk-through that is on
    danger: dict[str, str] | None = None  # a grave card that was heard (card, said), until it is said to be over
    unwritten: str = ""  # what was told for the log and could not be written down, a line each
    begun: datetime | None = None  # when the feed began, told beside a question (see begun.py)
    refused: str = ""  # ... of that, what a figure was refused for already
    wrote: tuple[dict[str, Any], ...] = ()  # what the last messages wrote in the log (see wrote.py)
    at: datetime | None = None
    looked_up: tuple[str, ...] = ()  # what of the plan was looked up last
    looked_up_of: str | None = None  # ... and the one feed it was of
    waiting: tuple[str, dict[str, Used], str] | None = None  # a question asked back that another one came between

    def fresh(self, now: datetime) -> Talk:
        """This conversation, or an empty one when it is a day old."""
        return self if self.at is None or abs(now - self.at) < AFRESH else Talk()

    def remember(self, **changes: Any) -> Talk:
        """The conversation after a turn; a question answered before goes to `earlier`."""
        earlier = self.earlier
        if self.question and self.asks is None and changes.get("question") not in (None, self.question):
            earlier = ((self.question, self.slots), *earlier)[:KEPT]
        return replace(self, earlier=earlier, waiting=self._waiting(changes.get("question")), **changes)

    def just_looked_up(self) -> tuple[str, ...]:
        """What of the plan the last answer told."""
        return self.looked_up if (self.last or {}).get("intent") == "plan_lookup" else ()

    def _waiting(self, name: str | None) -> tuple[str, dict[str, Used], str] | None:
        if self.question and self.asks not in (None, "which_question", "sure") and name not in (None, self.question):
            return self.question, self.slots, str(self.asks)
        return None if self.waiting is None or name == self.waiting[0] else self.waiting


def talk_of(tracker: Tracker, now: datetime) -> Talk:
    kept = tracker.get_slot(SLOT)
    return from_plain(kept).fresh(now) if kept else Talk()


def to_plain(talk: Talk) -> dict[str, Any]:
    """The conversation as JSON."""
    return {
        "question": talk.question,
        "slots": _slots_to_plain(talk.slots),
        "asks": talk.asks,
        "code": talk.code,
        "choices": list(talk.choices),
        "last_slot": talk.last_slot,
        "answer": talk.answer,
        "last": talk.last,
        "feed": talk.feed,
        "text": talk.text,
        "earlier": [[q, _slots_to_plain(s)] for q, s in talk.earlier],
        "guide": talk.guide,
        "danger": talk.danger,
        "unwritten": talk.unwritten,
        "refused": talk.refused,
        "begun": talk.begun.isoformat() if talk.begun else None,
        "wrote": list(talk.wrote),
        "looked_up": list(talk.looked_up),
        "looked_up_of": talk.looked_up_of,
        "at": talk.at.isoformat() if talk.at else None,
        "waiting": [talk.waiting[0], _slots_to_plain(talk.waiting[1]), talk.waiting[2]] if talk.waiting else None,
    }


def reads_back(kept: Any) -> bool:
    """Whether this is a conversation as to_plain writes it."""
    try:
        return isinstance(kept, dict) and to_plain(from_plain(kept)) is not None
    except Exception:  # whatever came from outside: it is one, or it is not
        return False


def from_plain(kept: dict[str, Any]) -> Talk:
    waits = kept.get("waiting")
    return Talk(
        question=kept["question"],
        slots=_slots_from_plain(kept["slots"]),
        asks=kept["asks"],
        code=kept["code"],
        choices=tuple(kept["choices"]),
        last_slot=kept["last_slot"],
        answer=kept["answer"],
        last=kept["last"],
        feed=kept["feed"],
        text=kept["text"],
        earlier=tuple((q, _slots_from_plain(s)) for q, s in kept["earlier"]),
        guide=kept["guide"],
        danger=kept.get("danger"),
        unwritten=kept.get("unwritten", ""),
        refused=kept.get("refused", ""),
        begun=datetime.fromisoformat(kept["begun"]) if kept.get("begun") else None,
        wrote=tuple(kept.get("wrote", ())),
        looked_up=tuple(kept.get("looked_up", ())),
        looked_up_of=kept.get("looked_up_of"),
        at=datetime.fromisoformat(kept["at"]) if kept["at"] else None,
        waiting=(waits[0], _slots_from_plain(waits[1]), waits[2]) if waits else None,
    )


def _slots_to_plain(slots: dict[str, Used]) -> dict[str, Any]:
    made = {}
    for name, used in slots.items():
        value = used.value
        if is_amount(value):
            plain: list[Any] = ["quantity", str(number(value, unit_of(value))), unit_of(value)]
        elif isinstance(value, datetime):
            plain = [
                "instant",
                value.astimezone().isoformat() if value.tzinfo is None else value.isoformat(),
                str(value.tzinfo),
            ]
        elif isinstance(value, date):
            plain = ["date", value.isoformat()]
        elif isinstance(value, Decimal):
            plain = ["number", str(value)]
        elif isinstance(value, (str, bool, int)):
            plain = ["word", value]
        elif isinstance(value, Reading) and value.kind == "clock":
            plain = ["clock", value.value, value.unit]  # no instant yet: what it hangs on was asked back
        else:
            continue
        made[name] = [plain, used.origin, used.words]
    return made


def _slots_from_plain(slots: dict[str, Any]) -> dict[str, Used]:
    from zoneinfo import ZoneInfo

    made = {}
    for name, (plain, origin, words) in slots.items():
        kind, *rest = plain
        value: Any
        if kind == "quantity":
            value = qty(Decimal(rest[0]), rest[1])
        elif kind == "instant":
            value = datetime.fromisoformat(rest[0])
            with suppress(KeyError, ValueError):  # a fixed offset is no zone's name; same instant
                value = value.astimezone(ZoneInfo(rest[1]))
        elif kind == "date":
            value = date.fromisoformat(rest[0])
        elif kind == "clock":
            value = Reading("clock", rest[0], rest[1])
        elif kind == "number":
            value = Decimal(rest[0])
        else:
            value = rest[0]
        made[name] = Used(value, origin, words)
    return made
