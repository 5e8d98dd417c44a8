"""A worry about a person that names no sign ("her tummy is not right", "he is talking funny"): asked about at once.

The rules with `doubt` in knowledge/signs find it; each names a card that it may be. What is asked comes first and says
whom to call; a sum asked in the same message follows.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from assistant.cards import GRAVE, LEVELS, card_record, level_of
from assistant.danger.enough import says_something
from assistant.danger.hearing import hear
from assistant.danger.here_and_now import as_somebody, here_and_now, plainly, told
from assistant.dialogue import Talk
from assistant.night import Night
from assistant.wording import asking

NOT_UNDERSTOOD = ("unclear", "out_of_scope")
UNNAMED = "unwell"
ONLY_WITH = {"low_sugar": "insulin"}  # what is asked about only where the plan has this note, or there is no plan
MOST = 3

Records = list[dict[str, Any]]


def doubts(text: str, night: Night) -> tuple[str, ...]:
    """The cards that a vague worry in the words may be, as far as they fit this person; empty where there is none."""
    if told("is_it_normal", text):
        return (UNNAMED,)
    said = plainly(as_somebody(text, night.plan.person.nickname if night.plan else None))
    left = here_and_now(said, lambda clause: bool(hear(clause).doubted))
    if not says_something(left):
        return ()
    plan = night.plan
    return tuple(
        name for name in hear(left).doubted if name not in ONLY_WITH or plan is None or night.noted(ONLY_WITH[name])
    )


def asked_about(cards: tuple[str, ...], records: Records, talk: Talk, night: Night) -> tuple[Records, Talk]:
    """The answer with the worry asked about first; what was not understood gives way to it, a fitting card stays."""
    first = records[0]
    if any(r["intent"] == "caution" and LEVELS.index(r["level"]) >= LEVELS.index("same_day") for r in records):
        return [*records[:-1], asking.with_worry(records[-1], night)], talk
    gives_way = first["intent"] in (*NOT_UNDERSTOOD, "caution")
    if all(level_of(name, night) not in GRAVE for name in cards):
        return ([card_record(cards[0], night), *records[1:]] if gives_way else records), talk
    if not gives_way:
        return [{**asking.suspicion((), night), "asks": first.get("asks", "which_question")}, *records], talk
    named = dict.fromkeys((*(c for c in cards if c != UNNAMED), *_offered(first)))
    choices = [{"intent": "caution", "card": name, "label": asking.label_of("caution", name)} for name in named][:MOST]
    told = asking.suspicion(choices, night)
    return [told, *records[1:]], replace(talk, asks="which_question", choices=tuple(choices))


def _offered(record: dict[str, Any]) -> list[str]:
    """The cards that the answer named or offered."""
    return [c["card"] for c in (record, *(record.get("choices") or ())) if c.get("card")]
