"""A look-up of the care plan as a turn of the talk: by its words, or as what was just looked up of another feed."""

from __future__ import annotations

from assistant import gather
from assistant.asked.plan_asked import LOOKED_UP, asked, same_again
from assistant.dialogue import Talk
from assistant.follow.turns import Question, pattern
from assistant.message import Heard
from assistant.understand import Candidate

TOLD_BY = ("day", "date")  # numbers that a look-up may hold
ONE_STRANGE = 0.1  # from this share of the ranking on a look-up may hold one word that is strange to it
MOST = 60  # words of a message that is a look-up by all of its words
NEVER_OURS = 0.9  # from this share on it is not


def of_the_plan(text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...]) -> Question | None:
    """The look-up that a message is by all of its words; None where it holds numbers, or may be another question."""
    return _asked(text, heard, talk, feeds, strange=0)


def of_the_plan_perhaps(
    text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...], feeds: tuple[str, ...]
) -> Question | None:
    """The look-up that a message may be, with a word strange to it, where the ranking holds that likely as well."""
    likely = sum(c.p for c in ranked if c.intent == "plan_lookup") >= ONE_STRANGE
    if not likely or (ranked[0].intent == "out_of_scope" and ranked[0].p >= NEVER_OURS):
        return None
    return _asked(text, heard, talk, feeds, strange=1)


def _asked(text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...], strange: int) -> Question | None:
    numbers = any(a.readings[0].kind not in TOLD_BY and not _of_a_feed(a.text) for a in heard.amounts)
    if heard.unread or numbers or len(heard.tokens) > MOST:
        return None
    about = talk.just_looked_up()
    last = talk.last or {}
    a_sum = last.get("intent") in gather.names() and not about
    apart = a_sum or talk.asks not in (None, "which_question") or talk.guide is not None
    topics = asked(text, feeds, about, apart=apart, strange=strange)
    if not topics:
        topics = same_again(text, feeds, about)
    return Question("plan_lookup", favours=LOOKED_UP + " ".join(topics)) if topics else None


def _of_a_feed(words: str) -> bool:
    """ "The midday syringe", "the noon one": a feed's name, whatever time it tells as well; "in one day": of each."""
    return bool(pattern("names_a_time_of_day").fullmatch(words.strip())) or words.strip().lower() == "one day"
