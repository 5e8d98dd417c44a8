"""Right after a grave card: "yes, he's breathing", "no", "what now" answer the card, and leave the danger as it is."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import Any

from assistant.cards import GRAVE, card
from assistant.danger.hearing import hear as signs
from assistant.dialogue import Talk
from assistant.follow.turns import Question, pattern
from assistant.message import Heard

ANSWERS = ("yes", "no", "unclear", "out_of_scope")
NOT_UNDERSTOOD = ("unclear", "out_of_scope")
OVER = "over"  # what is said to it: whom to tell, and what if it comes back
NOT_SO = "not_so"  # ... and to a card that was only suspected, and denied
COMING = "help_coming"  # ... and to help that was called
#: what is so however well somebody looks: "no, he's fine, giggling", of a tube that is out
NOT_BY_LOOKS = frozenset({
    "tube_out", "tube_out_new", "tube_out_nasal", "tube_out_jejunal", "tube_broken", "tube_mark_moved",
    "tube_in_airway", "buried_bumper", "medicine_error", "overfeed", "poisoning", "infant_mixing",
    "button_battery", "wrong_line", "wrong_port", "wrong_formula", "foreign_body", "balloon",
})
OF_BREATH = frozenset({"cant_breathe", "choking"})
OPEN_FOR = timedelta(hours=2)
LOOKED_UP = frozenset({
    "contact", "log_lookup", "plan_lookup", "undo", "repeat", "slower", "explain", "handoff", "remind",
})
MOST = 10  # words of a telling that nothing else was made of


def stays(question: Question, text: str, heard: Heard, talk: Talk) -> Question:
    """The card once more where the message only answers it; else the question as it was decided.

    An urgent card stays for more than a bare "ok" or "no"; an emergency for these too. What tells that it is over, or
    was none, changes nothing here.
    """
    last = talk.last or {}
    if question.name in ANSWERS and pattern("reassures").match(text) and _worried(last, talk):
        return Question("thanks", favours=OVER)  # "no, she's awake and pink"
    if (while_open := _while_open(question, text, heard, talk)) is not None:
        return while_open
    if pattern("asks_how_urgent").match(text):  # of a calm card that was just told; else whom to call, and when
        return Question("caution", last["card"]) if last.get("intent") == "caution" else Question("contact")
    answers_it = talk.asks is not None and bool(heard.amounts)  # of a sum that waits
    if last.get("intent") != "caution" or last.get("level") not in GRAVE or answers_it:
        return question
    if "unsure" in (talk.danger or {}) and question.name in ANSWERS and pattern("denies_it").match(text):
        return Question("thanks", favours=NOT_SO)  # "no no, it was his own milk": only suspected
    again = Question("caution", last["card"])
    if question.name in NOT_UNDERSTOOD and pattern("may_feed").search(text):
        return again  # "so is it ok to give half only?"
    if last["card"] in OF_BREATH and pattern("breathes_well").search(text) and not heard.amounts:
        return Question("thanks", favours=OVER)  # "no, he's breathing fine, he just has a cold"
    if pattern("still_call").search(text) and not heard.amounts:
        return again  # "he's a bit pinker now, do I still need to call?"
    by_looks = last["card"] in NOT_BY_LOOKS and not pattern("false_alarm").search(text)
    if pattern("danger_over").search(text) and not by_looks:
        nothing_else = question.name in NOT_UNDERSTOOD or pattern("false_alarm").search(text)
        return Question("thanks", favours=OVER) if nothing_else and not heard.amounts else question
    if pattern("what_now").match(text) or (question.name in NOT_UNDERSTOOD and pattern("plays_down").search(text)):
        return again  # "it's probably just tiredness, isn't it"
    offered = {choice.card for choice in question.choices if choice.card is not None}
    if question.name in NOT_UNDERSTOOD and any(c == last["card"] or card(c)["level"] in GRAVE for c in offered):
        return again  # "no blood. What goes over the hole?", of the tube that came out
    if question.name not in ANSWERS or len(heard.tokens) > MOST or pattern("question").search(text):
        return question
    if question.name in ("unclear", "out_of_scope"):
        return again if pattern("of_the_one_told_of").search(text) and last["level"] == "emergency" else question
    bare = pattern("bare_answer").match(text)
    return again if last["level"] == "emergency" or (question.name == "yes" and not bare) else question


def _while_open(question: Question, text: str, heard: Heard, talk: Talk) -> Question | None:
    """ "Do I put it back on?", "should I still do the midnight one?", "I've rung them", while a danger is open.

    The first two bring its card again: what it says not to do still holds.
    """
    danger = talk.danger
    if danger is None or talk.at is None or talk.guide is not None or question.name in LOOKED_UP:
        return None
    if "at" in danger and talk.at - datetime.fromisoformat(danger["at"]) > OPEN_FOR:
        return None
    amounts = {a.readings[0].kind for a in heard.amounts} & {"volume", "rate", "number"}
    if question.name != "caution" and pattern("help_is_coming").search(text) and not pattern("question").search(text):
        return Question("thanks", favours=COMING)
    if pattern("asks_how_urgent").match(text):
        return Question("caution", danger["card"])
    sentences = [s for s in re.split(r"(?<=[.?!])\s+|,\s+", text) if s]
    goes_on = any(pattern("asks_to_go_on").match(s) for s in (text, *sentences))
    goes_on = goes_on and not amounts and not pattern("danger_over").search(text)
    return Question("caution", danger["card"]) if goes_on else None


def _worried(last: dict[str, Any], talk: Talk) -> bool:
    """Was a worry that named no sign told just before?"""
    return (last.get("intent"), last.get("level")) == ("unclear", "urgent") or bool(signs(talk.text or "").doubted)
