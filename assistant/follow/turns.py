"""Turns of a conversation: what only the talk so far makes clear ("and at 60?", "scrap it", "how much was it?").

The words for them are data: knowledge/turns_en.toml.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from functools import cache

from assistant import gather
from assistant.dialogue import Talk
from assistant.hear import hear
from assistant.message import Heard
from assistant.numbers.said import said
from assistant.numbers.wants import Used
from assistant.told.acts import act_named, acts_told
from assistant.told.acts_numbers import FOUR_DIGITS
from assistant.told.acts_places import STRETCHED
from assistant.told.only_planned import only_planned
from assistant.understand import Candidate
from knowledge.library import table

LOG_TALK = frozenset(
    f"log_{what}"
    for what in ("start", "pause", "resume", "stop", "flush", "poured", "symptom", "rate", "set", "medicine")
)
ACT_INTENT = {
    "on": "log_start", "hang": "log_start", "off": "log_pause", "start": "log_start", "resume": "log_resume",
    "pause": "log_pause", "stop": "log_stop", "flush": "log_flush", "pour": "log_poured", "rate": "log_rate",
    "vomit": "log_symptom", "bolus": "log_start", "medicine": "log_medicine", "set": "log_set", "another": "log_flush",
}
DEFERRING = ("catch_up", "change_rate")  # sums whose use the care team decides
PAUSES = "pauses"  # what a look into the log is about
SHORT, LONG = 8, 14  # words
UNDATED = ("resume", "pause", "flush", "rate", "set", "medicine")  # short enough, they count without a time: just now
AT_A_TIME = ("on", "start", "resume", "pause", "off", "set", "medicine", "vomit")  # told without an amount
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
    counts: str | None = None  # the words whose numbers count, where they are not the message's own


@cache
def pattern(name: str) -> re.Pattern[str]:
    """A pattern of knowledge/turns_en.toml."""
    return re.compile(table("turns_en")["patterns"][name], re.IGNORECASE)


def chosen(text: str, talk: Talk) -> Question | None:
    """One of the choices that were offered, by number, by its words, or "the first"."""
    if talk.asks != "which_question" or not talk.choices:
        return None
    low = text.lower().strip(" .!?")
    index = next((int(n) - 1 for n, said in table("turns_en")["choices"].items() if low in said), None)
    if index is None:
        index = next((i for i, c in enumerate(talk.choices) if low == c["label"].lower()), None)
    if index is None or index >= len(talk.choices):
        return _by_its_value(text, talk) if index is None else None
    choice = talk.choices[index]
    return Question(choice["intent"], choice.get("card"), 1.0, talk.slots, follows=True, counts=talk.text or None)


def _by_its_value(text: str, talk: Talk) -> Question | None:
    """ "Roughly 140", where how long a bag lasts was among what was offered: of all that, it is of that."""
    heard = hear(text)
    bag = next((c for c in talk.choices if c["intent"] in OF_A_BAG), None)
    value = heard.amounts[0].readings[0] if len(heard.amounts) == 1 and only_a_value(heard) else None
    if bag is None or value is None or value.kind not in ("number", "volume"):
        return None
    if value.kind == "number" and value.value < LEAST_IN_A_BAG:
        return None
    if any(a.readings[0].kind in ("number", "volume") for a in hear(talk.text).amounts):  # "200 left ..." "55"
        return Question("bag_duration", None, 1.0, talk.slots, follows=True, counts=f"{talk.text}, at {text}")
    return Question("bag_duration", None, 1.0, talk.slots, favours="volume", follows=True)


LEAST_IN_A_BAG = 20  # a smaller number said bare may be a choice, an hour, a rate
OF_A_BAG = ("bag_duration",)


def about_the_talk(text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...]) -> Question | None:
    """A turn about the last answer, the last entry or the last reminder."""
    top = ranked[0]
    if talk.code == "unclaimed" and _plays_no_part(text, heard, talk):
        return Question(str(talk.question), carried=talk.slots, follows=True, counts="")
    if talk.asks == "sure" and pattern("yes").match(text) and not acts_told(said(heard)):  # "ok, back on" tells an act
        return Question(str(talk.question), carried=talk.slots, follows=True)
    if talk.code == "log_rate_since" and talk.question and not heard.amounts and pattern("since_when").search(text):
        return Question(talk.question, carried=talk.slots, follows=True)
    if talk.last is not None and pattern("again_please").match(text) and not heard.amounts:
        return Question("slower" if pattern("slower").search(text) else "repeat")
    of_a_card = (talk.last or {}).get("intent") == "caution"
    if (talk.answer is not None or of_a_card) and pattern("whence").search(text) and not heard.amounts[1:]:
        return Question("explain")
    deferred = talk.answer is not None and talk.answer["defers"]
    if (deferred or (talk.asks and talk.question in DEFERRING)) and pattern("presses").search(text):
        return Question("press")
    if after_a_sum(talk) and not heard.amounts and pattern("own_decision").search(text):
        return Question("press")
    if (talk.answer is not None or of_a_card) and pattern("why").match(text):
        return Question("explain")
    if talk.last is not None and pattern("what_meant").match(text):
        return Question("repeat")
    if _of_the_entry(text, talk):
        return Question("log_lookup")
    if talk.question in ("log_pause", "log_resume") and pattern("how_long_was").match(text):
        return Question("log_lookup", favours=PAUSES)  # right after "back on": how long it was off
    if talk.last is not None and pattern("was_it").match(text) and not heard.amounts:
        again = next((q for q in ((talk.question, talk.slots), *talk.earlier) if q[0] in gather.names()), None)
        if " is " in text.lower() and talk.last == talk.answer and talk.last["figures"]:
            return Question("repeat", favours="figures")  # the answer just given, with its figures
        if " is " in text.lower() and again is not None:
            return Question(str(again[0]), carried=said_slots(again[1]), follows=True)
        return Question("repeat")
    if talk.question == "flush" and pattern("how_much_of_it").fullmatch(text.strip(" .?!").lower()):
        return Question("flush")
    if pattern("good_night").match(text):
        return Question("thanks")
    if (talk.last or {}).get("intent") == "contact" and pattern("other_contact").match(text):
        return Question("contact")
    for intent in ("contact", "handoff"):
        if pattern(f"asks_{intent}").search(text):
            return Question(intent)
    leave = pattern("asks_leave").match(text) and top.p < SURE
    if len(heard.amounts) == 1 and (leave or (after_a_sum(talk) and pattern("own_decision").search(text))):
        return Question("change_rate", favours="rate")
    if top.intent in ("next_step", "previous_step") and talk.guide is None and pattern("what_or_when").search(text):
        return Question("plan_lookup")
    return None


def _plays_no_part(text: str, heard: Heard, talk: Talk) -> bool:
    """ "Leave it out", "that's just my age": of the number that was asked about, and of no other."""
    others = any(a.text not in str((talk.last or {}).get("text")) for a in heard.amounts)
    clauses = [part for part in re.split(r"[,.;!?]+\s*", text.lower()) if part]
    return not others and all(pattern("plays_no_part").fullmatch(shown(hear(part))) for part in clauses)


def _of_the_entry(text: str, talk: Talk) -> bool:
    """ "How much water was that?", "how long for?": of the flush or the pause just told or looked up."""
    last = talk.last or {}
    if last.get("intent") not in ("log_flush", "log_pause", "log_resume", "log_lookup"):
        return False
    of_a_flush = "flush" in last["text"] and "water" in text.lower() and pattern("water_of_it").match(text)
    of_a_pause = "paus" in last["text"] and pattern("length_of_it").match(text)
    return bool(of_a_flush or of_a_pause)


def told(text: str, heard: Heard, logged: tuple[str, ...] = ()) -> Question | None:
    """Something told, not asked, with the time at which it was done: it is for the log (knowledge/acts_en.toml)."""
    if (acts := told_acts(text, heard, logged)) is not None:
        return acts
    text = pattern("asks_nothing").sub("", pattern("write_it").sub("", text))
    asks = ("question", "asks_any", "asks_of_a_state", "asks_of_keeping", "cannot_do")
    if any(pattern(name).search(text) for name in asks) or only_planned(text):
        return None
    dated = any(a.readings[0].kind == "clock" for a in heard.amounts) or any(
        pattern(name).search(text) for name in ("dated", "beside_an_event"))
    beside = pattern("beside_an_event").search(text)  # "just before the film finished": what stands there is no act
    act = act_named(said(hear(text[: beside.start()]) if beside else heard))
    four = act in AT_A_TIME and any(FOUR_DIGITS.fullmatch(a.text) for a in heard.amounts)  # "commenced 2100"
    if act is not None and (dated or four or (act in UNDATED and len(heard.tokens) <= SHORT)):
        for_a_while = said(heard).has(*table("acts_en")["words"]["for_a_while"])
        return Question("log_stop" if act == "off" and not for_a_while else ACT_INTENT[act])
    return None


def told_acts(text: str, heard: Heard, logged: tuple[str, ...], *, alone: bool = False) -> Question | None:
    """Acts told with their times ("stopped it at 11.40, back on five to midnight"), and nothing asked.

    One act counts only where nothing else is likely (`alone`), or where it changes the rate or is a whole pause; those
    two only of a feed that the log (`logged`: its kinds of entry) holds.
    """
    text = pattern("asks_nothing").sub("", text)
    asks = ("asks_any", "asks_of_a_sum", "asks_of_a_state", "cannot_do")
    if "?" in text or any(pattern(name).search(text) for name in asks) or only_planned(text):
        return None
    acts = acts_told(said(heard))
    timed = sum(act.timed for act in acts)
    first = acts[0].what if acts else ""
    whole = any(act.what in STRETCHED and act.clock and (act.until or act.lasted) for act in acts)
    of_a_feed = "feed_started" in logged or first in ("on", "start", "bolus")
    changed = of_a_feed and ((timed and whole) or first == "rate")
    if not changed and not (timed and (alone or len(acts) > 1)):
        return None
    return Question(ACT_INTENT[first])


def said_slots(slots: dict[str, Used]) -> dict[str, Used]:
    """Of the slots of an earlier question, those that the person said."""
    return {name: used for name, used in slots.items() if used.origin == "question"}


def after_a_sum(talk: Talk) -> bool:
    """Was the last answer a sum, or the "why" of it, with nothing asked back?"""
    last = (talk.last or {}).get("intent")
    return talk.question in gather.names() and talk.asks is None and last in (talk.question, "explain")


def number_put_right(text: str, heard: Heard) -> bool:
    """ "Hang on, misread it, it's 300": a number read or said wrongly, put right, and not another word."""
    ways = ("number_put_right", "number_with_excuse")
    return bool(heard.amounts) and any(pattern(name).fullmatch(shown(heard)) for name in ways)


def only_a_value(heard: Heard) -> bool:
    """ "300 will do", "over an hour then", "12 and a half i meant": a value for the sum just asked, and no more."""
    return bool(heard.amounts) and bool(pattern("only_a_value").fullmatch(shown(heard)))


def shown(heard: Heard) -> str:
    """The words with each number as "#"."""
    tokens, shown, at = heard.tokens, [], 0
    ends = {a.start: a.end for a in heard.amounts}
    while at < len(tokens):
        shown.append("#" if at in ends else tokens[at])
        at = ends.get(at, at + 1)
    return " ".join(shown)
