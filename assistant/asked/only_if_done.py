"""What goes into the log was done: nothing that should have been, is asked about, is to come, or is denied."""

from __future__ import annotations

from assistant.asked.unsure import unsure
from assistant.dialogue import Talk
from assistant.follow.turns import LOG_TALK, Question, pattern
from assistant.message import Heard
from assistant.numbers.said import said
from assistant.told.acts import acts_told
from assistant.told.only_planned import not_done, only_planned
from assistant.understand import Candidate, rank

ANSWERED_BY = {  # what is asked for, told as an act
    "start": ("log_start",),
    "finish": ("log_stop",),
    "opened": ("log_start", "log_poured"),
}
INSTEAD = ("catch_up", "start_by")  # of a feed that should have run


def only_answers(entry: Question, heard: Heard, talk: Talk) -> bool:
    """Does an entry only answer what was asked back? "Started 9:15pm, paused 10:10pm ..." tells it all anew."""
    return entry.name in ANSWERED_BY.get(str(talk.asks), ()) and len(acts_told(said(heard))) <= 1


def only_if_done(question: Question, text: str) -> Question:
    """The question as it was decided; of an entry for what was not done, what the words may ask besides."""
    if question.name == "remind" and pattern("it_beeped").search(text):
        return _else(text, frozenset({"remind"}))
    if question.name not in LOG_TALK:
        return question
    if only_planned(text):
        return Question("unclear", choices=tuple(Candidate(name, None, 0.0) for name in INSTEAD))
    if question.name == "log_start" and pattern("on_the_mains").search(text):  # "low battery, plugged it in now"
        return _else(text, frozenset(LOG_TALK))
    if question.follows or pattern("to_be_logged").search(text) or not not_done(text, question.name):
        return question
    return _else(text, frozenset(LOG_TALK))


def _else(text: str, without: frozenset[str]) -> Question:
    """What the words may ask besides those questions."""
    return unsure(tuple(c for c in rank(text) if c.intent not in without) or (Candidate("unclear", None, 1.0),))
