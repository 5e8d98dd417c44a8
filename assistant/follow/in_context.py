"""What a turn asks by the place it stands in: where the words alone leave it open, weights that know the reply before.

"On reflection, make it twenty-five past", after a reminder; "and for twice that much milk", after a mix. The words and
the rules come first; this ear decides only where they found nothing, or took a value of the last sum for something
else, and it is sure. A danger that a rule hears is never its to weigh.
"""

from __future__ import annotations

import re

from assistant import gather
from assistant.dialogue import Talk
from assistant.follow.carried import carried
from assistant.follow.following import standing
from assistant.follow.nearest import meant_slot
from assistant.follow.turns import LOG_TALK, SHORT, Question, pattern
from assistant.hear import hear
from assistant.language.number_roles import likely_roles
from assistant.language.turn_features import Before, features
from assistant.language.turn_weights import turns
from assistant.message import Heard
from assistant.numbers.said import said
from assistant.numbers.spoken import Spoken
from assistant.told.acts import acts_told
from assistant.understand import Candidate, rank

OPEN = frozenset({"unclear", "out_of_scope"})
SURE, LIKELY, CERTAIN = 0.6, 0.8, 0.9  # where nothing was found; of a few words; where another question was
NO_DANGER = 0.02  # the share of a caution up to which an alarm of the weights alone may be a value of the last sum
ITS_OWN = 0.97  # a question that the words ask so surely is asked
MOVED = "moved_to"  # what a remind order favours, where one that is set is put at another time
ASKS = re.compile(r"(?:and |so |but |then |ok )*(?:is|was|are|does|do|did|has|have|will|would)\b", re.IGNORECASE)
WENT_IN = {"intake", "delivered"}
SMALL_TALK = frozenset({"stop", "yes", "no"})
ANOTHER = 0.65  # how sure the weights must be of a number of another story
PLAIN = 0.9  # how strongly the words beside a number say that it is of something else
#: heard in its place these are told apart from sums and entries
PLAINLY_SAID = frozenset({"remind", "cancel_reminder", "undo", "handoff", "thanks", "log_lookup"})
#: what is looked up, told or said, and needs nothing more than its name
SAID = frozenset({"thanks", "greet", "yes", "no", "stop", "repeat", "slower", "explain", "undo", "contact", "handoff",
                  "plan_lookup", "log_lookup", "timetable", "remind", "cancel_reminder", "press", "help"})


def likely_turn(text: str, talk: Talk) -> tuple[str, float, float]:
    """The likeliest question of the turn `text`, its share, and that of a caution; ("", 0, 0) where none was before."""
    last = talk.last
    if last is None or talk.guide is not None:
        return "", 0.0, 0.0
    before = Before(last["intent"], last["outcome"], str(last.get("asks") or ""), _last_sum(talk))
    shares = turns().shares(features(text, hear(text), before, rank(text)))
    name, share = next(iter(shares.items()))
    return name, share, shares.get("caution", 0.0)


def _last_sum(talk: Talk) -> str:
    if talk.question in gather.names():
        return str(talk.question)
    return next((name for name, _ in talk.earlier if name in gather.names()), "")


def no_alarm_here(text: str, talk: Talk) -> bool:
    """Is what only the weights call a danger surely a value of the sum before ("oops, one zero too many, 576"), or an
    entry taken back ("that was the toddler, take that last one off")?

    Never while a danger is open, or right after a card.
    """
    if talk.danger is not None or (talk.last or {}).get("intent") == "caution":
        return False
    name, share, caution = likely_turn(text, talk)
    heard = hear(text)
    numbers = any(a.readings[0].kind not in ("day", "date") for a in heard.amounts)
    of_the_sum = name == _last_sum(talk) and bool(name)
    if of_the_sum and len(heard.tokens) <= SHORT and pattern("one_more_of_them").match(text):
        return share >= LIKELY and caution <= NO_DANGER  # "and both of the daytime ones", of the calories
    return ((of_the_sum and numbers) or name == "undo") and share >= CERTAIN and caution <= NO_DANGER


def by_context(
    question: Question, text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...], feeds: tuple[str, ...]
) -> Question:
    """The question as it was decided, or the one of this turn's place where that is surer."""
    if question.follows or question.name == "caution" or question.favours is not None:
        return question
    of_what_went_in = {question.name, str(talk.question)} <= WENT_IN and _only_told(text, heard)
    if of_what_went_in and (_by_the_log_alone(talk) or _of_several(text, talk)):
        return Question("unclear")  # "breakfast was only 150 mind", "sorry, lunch was 101": of which sum is not plain
    name, share, _ = likely_turn(text, talk)
    found_nothing = question.name in OPEN
    if name in ("", question.name, "unclear", "caution", "guide") or share < (SURE if found_nothing else CERTAIN):
        return question
    if _not_here(name, share, question, text, heard, talk):
        return question
    if name in PLAINLY_SAID and (found_nothing or not _asked(question, ranked)) and share >= CERTAIN:
        return _of_the_talk(name, text, talk, share)
    if not found_nothing:
        of_the_sum = name == talk.question and name in gather.names() and bool(heard.amounts)
        asked = ranked[0].intent == question.name and ranked[0].p >= ITS_OWN
        acts = question.name in LOG_TALK and bool(acts_told(said(heard)))  # told outright: it is for the log
        if not of_the_sum or asked or acts or pattern("asks_for_leave").search(text):
            return question
    if name == talk.question and name in gather.names():
        if pattern("adds_or_takes").search(text):
            return question  # "another 250", "without the 30": which of the values it moves is not plain
        kept = talk.slots if talk.asks is not None else standing(text, heard, talk, feeds)
        favours = talk.asks if talk.asks is not None else meant_slot(heard, talk)
        return Question(name, carried=kept, favours=favours, follows=True) if heard.amounts else question
    if name in gather.names():
        return Question(name, p=share, carried=carried(text, heard, talk, Candidate(name, None, share)))
    return _of_the_talk(name, text, talk, share) if name in LOG_TALK or name in SAID else question


def _not_here(name: str, share: float, question: Question, text: str, heard: Heard, talk: Talk) -> bool:
    """What the words themselves keep from being what its place suggests."""
    if name in SMALL_TALK and (share < CERTAIN or "?" in text):
        return True  # "is that enough now?" breaks nothing off
    asks = pattern("question").search(text) or ASKS.match(text)
    if name in ("remind", "thanks", "undo") and question.name in gather.names() and asks:
        return True  # "does it finish before ten", right after a reminder
    if name in LOG_TALK and share < CERTAIN and not heard.amounts and not acts_told(said(heard)):
        return True  # "and water with it": nothing is written that was not told as done
    if (talk.last or {}).get("intent") == "caution" and pattern("danger_over").search(text):
        return True  # "no, she's fine now, it was the light"
    if name not in gather.names():
        return False
    told = any(a.readings[0].kind in ("number", "volume") for a in heard.amounts)
    if question.name in OPEN and told and not asks and _by_the_log_alone(talk):
        return True  # "breakfast was only 150 mind", after what the log says: for the log, and no value of the sum
    if _of_several(text, talk):
        return True  # "sorry no, one was 100", of several that were added up
    return bool(heard.amounts) and all(
        _of_another(one, role) for one, role in zip(said(heard).spoken, likely_roles(heard), strict=False))


def _of_several(text: str, talk: Talk) -> bool:
    row = sum(slot.startswith("volume_") for slot in talk.slots) > 1
    return row and pattern("correction").match(text) is not None


def _only_told(text: str, heard: Heard) -> bool:
    asks = pattern("question").search(text) or ASKS.match(text) or "?" in text
    return not asks and any(a.readings[0].kind in ("number", "volume") for a in heard.amounts)


def _by_the_log_alone(talk: Talk) -> bool:
    """Did the last sum rest on the log, and on nothing that was told?"""
    origins = {used.origin for used in talk.slots.values()}
    return "feed log" in origins and "question" not in origins


def _of_another(one: Spoken, likely: tuple[str, float]) -> bool:
    """ "Her nan is 84 today", "the nurse is due at ten": a number of somebody or something else."""
    return one.roles.get("event", 0.0) > PLAIN or (likely[0] == "noise" and likely[1] >= ANOTHER)


def _asked(question: Question, ranked: tuple[Candidate, ...]) -> bool:
    """Do the words by themselves ask that question, and surely?"""
    return ranked[0].intent == question.name and ranked[0].p >= ITS_OWN


def _of_the_talk(name: str, text: str, talk: Talk, share: float) -> Question:
    """A reminder, an entry, thanks ...; a time told right after a reminder moves that one, unless it is another."""
    moved = name == "remind" and (talk.last or {}).get("intent") == "remind" and not pattern("one_more").search(text)
    return Question(name, p=share, favours=MOVED if moved else None)
