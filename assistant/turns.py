"""Turns of a conversation: what only the talk so far makes clear ("and at 60?", "scrap it", "how much was it?").

The words for them are data: knowledge/turns_en.toml.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache

from assistant import gather
from assistant.dialogue import Talk
from assistant.message import Heard
from assistant.understand import Candidate
from assistant.wants import Used
from knowledge.library import table
from rules.quantity import is_amount

LOG_TALK = frozenset(
    f"log_{what}"
    for what in ("start", "pause", "resume", "stop", "flush", "poured", "symptom", "rate", "set", "medicine")
)
KIND_ASKED = {"over": "time", "rate": "rate", "volume": "volume", "start": "clock", "finish": "clock"}
DEFERRING = ("catch_up", "change_rate")  # sums whose use the care team decides
FEW, SHORT, LONG = 4, 8, 14  # words
SURE = 0.5  # from this share a message asks something of its own


@dataclass(frozen=True)
class Question:
    """What a message asks: an intent (and its card), and what the conversation adds to it."""

    name: str
    card: str | None = None
    p: float = 1.0
    carried: dict[str, Used] = field(default_factory=dict)
    favours: str | None = None  # the slot a bare number is meant for
    follows: bool = False  # a turn of the last question, or the answer to what was asked back
    choices: tuple[Candidate, ...] = ()
    of_before: bool = False  # one of the choices was picked: the words that count are those it was offered for


@cache
def pattern(name: str) -> re.Pattern[str]:
    """A pattern of knowledge/turns_en.toml."""
    return re.compile(table("turns_en")["patterns"][name], re.IGNORECASE)


@cache
def _filler() -> frozenset[str]:
    words = table("turns_en")["words"]
    return frozenset(f"{words['filler']} {words['put_right']}".split())


def chosen(text: str, talk: Talk) -> Question | None:
    """One of the choices that were offered, by number, by its words, or "the first"."""
    if talk.asks != "which_question" or not talk.choices:
        return None
    low = text.lower().strip(" .!?")
    index = next((int(n) - 1 for n, said in table("turns_en")["choices"].items() if low in said), None)
    if index is None:
        index = next((i for i, c in enumerate(talk.choices) if low == c["label"].lower()), None)
    if index is None or index >= len(talk.choices):
        return None
    choice = talk.choices[index]
    return Question(choice["intent"], choice.get("card"), 1.0, talk.slots, follows=True, of_before=bool(talk.text))


def about_the_talk(text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...]) -> Question | None:
    """A turn about the last answer, the last entry or the last reminder."""
    top = ranked[0]
    if talk.asks == "sure" and pattern("yes").match(text):
        return Question(str(talk.question), carried=talk.slots, follows=True)
    if talk.last is not None and pattern("again_please").match(text) and not heard.amounts:
        return Question("slower" if pattern("slower").search(text) else "repeat")
    if talk.answer is not None and pattern("whence").search(text) and not heard.amounts[1:]:
        return Question("explain")
    deferred = talk.answer is not None and talk.answer["defers"]
    if (deferred or (talk.asks and talk.question in DEFERRING)) and pattern("presses").search(text):
        return Question("press")
    if talk.answer is not None and pattern("why").match(text):
        return Question("explain")
    if talk.last is not None and pattern("what_meant").match(text):
        return Question("repeat")
    if talk.last is not None and pattern("was_it").match(text) and not heard.amounts:
        again = next((q for q in ((talk.question, talk.slots), *talk.earlier) if q[0] in gather.names()), None)
        if " is " in text.lower() and again is not None:
            return Question(str(again[0]), carried=said_slots(again[1]), follows=True)
        return Question("repeat")
    for intent in ("contact", "handoff"):
        if pattern(f"asks_{intent}").search(text):
            return Question(intent)
    if len(heard.amounts) == 1 and pattern("asks_leave").match(text) and top.p < SURE:
        return Question("change_rate", favours="rate")
    corrects = talk.question in LOG_TALK and pattern("correction").match(text) and heard.amounts
    if corrects and not (top.intent in LOG_TALK and top.p > SURE and _names_an_entry(text)):
        return Question(str(talk.question), favours="start", follows=True)
    if top.intent in ("next_step", "previous_step") and talk.guide is None and pattern("what_or_when").search(text):
        return Question("plan_lookup")
    return None


def _names_an_entry(text: str) -> bool:
    """Is a kind of entry named ("no, the pause was at nine"), and not only another time?"""
    return any(
        re.search(rf"(?<![\w'])(?:{w})(?![\w'])", text.lower())
        for words in table("telling_en").values()
        for w in words["words"]
    )


def told(text: str, heard: Heard) -> Question | None:
    """Something told, not asked, with the time at which it was done: it is for the log (knowledge/telling_en.toml)."""
    if pattern("question").search(text):
        return None
    dated = any(a.readings[0].kind == "clock" for a in heard.amounts) or pattern("dated").search(text)
    for intent, words in table("telling_en").items():
        says_so = any(re.search(rf"(?<![\w'])(?:{w})(?![\w'])", text.lower()) for w in words["words"])
        if says_so and (dated or (words.get("undated") and len(heard.tokens) <= SHORT)):
            return Question(intent)
    return None


def answers(
    text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...], feeds: tuple[str, ...] = ()
) -> bool:
    """Is this the answer to what was asked back, and not another question?"""
    if talk.asks == "which_feed":
        return len(heard.tokens) <= SHORT and not pattern("asks").search(text) and _picks_a_feed(heard, feeds)
    if not heard.amounts or (talk.asks == "sure" and talk.code != "log_not_paused"):
        return False
    asks_anew = pattern("asks_anew").search(text)
    if asks_anew and (talk.question in LOG_TALK or (ranked[0].p > SURE and ranked[0].intent != talk.question)):
        return False  # a question puts nothing in the log
    return len(heard.tokens) <= LONG or not asks_anew


def _picks_a_feed(heard: Heard, feeds: tuple[str, ...]) -> bool:
    """A feed named, or pointed at ("the one that's on"), or a number put right beside hardly a word."""
    own = set(own_words(heard))
    if own & _named_feeds(feeds):
        return True
    return own <= frozenset(table("turns_en")["words"]["points_at"].split()) or (bool(heard.amounts) and len(own) <= 1)


def turns(
    text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...], feeds: tuple[str, ...] = ()
) -> bool:
    """Is this a turn of the last question: one value changed, few other words?"""
    if talk.question not in gather.names():
        return False
    if not (heard.amounts or pattern("same_again").search(text)):
        return only_a_feed(heard, feeds)
    own = own_words(heard)
    if not own:
        return True
    elsewhere = gather.names() | {"plan_lookup", "remind", "caution", "guide"}
    asks_other = ranked[0].intent != talk.question and ranked[0].p >= SURE and ranked[0].intent in elsewhere
    return bool(pattern("turn").match(text)) and len(own) <= FEW and not asks_other


def own_words(heard: Heard) -> list[str]:
    """The words beside the numbers that are no filler."""
    inside = {i for a in heard.amounts for i in range(a.start, a.end)}
    beside = (t for i, t in enumerate(heard.tokens) if i not in inside)
    return [t for t in beside if t not in _filler() and any(c.isalnum() for c in t)]


def only_a_feed(heard: Heard, feeds: tuple[str, ...] = ()) -> bool:
    """A feed named and nothing else ("and in dinner?"): the last question, for that feed. `feeds`: the plan's names."""
    own, named = set(own_words(heard)), _named_feeds(feeds)
    return not heard.amounts and bool(own & named) and own <= named | {"feed", "feeds"}


def named_feed(heard: Heard, feeds: tuple[str, ...]) -> bool:
    """Is a feed named among the words?"""
    return bool(set(own_words(heard)) & _named_feeds(feeds))


def _named_feeds(feeds: tuple[str, ...]) -> frozenset[str]:
    return _feed_words() | {w for name in feeds for w in name.lower().split()}


@cache
def _feed_words() -> frozenset[str]:
    names = table("feed_names_en")
    return frozenset(w for name in names for form in (name, *names[name].get("also", ())) for w in form.split())


def resumed(heard: Heard, talk: Talk) -> Question | None:
    """The answer to a question back that another question came in between: of the kind that was asked for."""
    if talk.waiting is None or talk.asks is not None or len(heard.amounts) != 1 or set(own_words(heard)) - {"over"}:
        return None
    name, slots, asks = talk.waiting
    kind = heard.amounts[0].readings[0].kind
    return Question(name, carried=slots, favours=asks, follows=True) if kind == KIND_ASKED.get(asks) else None


LAST_HOUR = 12


def meant_slot(heard: Heard, talk: Talk) -> str | None:
    """The slot a bare number is meant for: the one whose last value is nearest to it, else the one changed last."""
    bare = next((a.readings[-1] for a in heard.amounts if a.readings[-1].kind == "number"), None)
    if bare is None or bare.value <= 0 or talk.last_slot in ("start", "finish", "opened"):
        return talk.last_slot
    near = {}
    for name, used in talk.slots.items():
        if used.origin == "question" and is_amount(used.value) and used.value.magnitude > 0:
            ratio = bare.value / used.value.magnitude
            near[name] = max(ratio, 1 / ratio)
    best = min(near, key=lambda n: near[n], default=None)
    if best is not None and near[best] <= 2:
        return best
    if bare.value <= LAST_HOUR and bare.value == int(bare.value):  # "they moved it, eleven": the time, not the rate
        times = [n for n, u in talk.slots.items() if isinstance(u.value, datetime) and u.origin == "question"]
        return times[0] if len(times) == 1 else talk.last_slot
    return talk.last_slot


def standing(slots: dict[str, Used]) -> dict[str, Used]:
    """Of the slots of the last question, those that stand while one is changed: log and clock are read anew."""
    return {name: used for name, used in slots.items() if used.origin not in ("feed log", "clock")}


def said_slots(slots: dict[str, Used]) -> dict[str, Used]:
    """Of the slots of an earlier question, those that the person said."""
    return {name: used for name, used in slots.items() if used.origin == "question"}
