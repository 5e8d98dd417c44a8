"""Which question is this? A new one, an answer to what was asked back, or a turn of the last one ("and at 60?").

Acting needs a clear lead; otherwise at most three choices are offered; otherwise an honest "I did not catch that".
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace

from assistant import gather
from assistant.dialogue import Talk
from assistant.message import Heard
from assistant.plausible import about_the_clocks, weigh
from assistant.said import said
from assistant.slots import Used
from assistant.understand import Candidate, rank
from knowledge.library import table
from rules.quantity import Quantity

CLEAR = 0.42            # acted on from this probability up
LEAD = 0.12             # ... where it also leads the next by this much
FAINT = 0.10            # offered as a choice from this probability up

ASK_WORDS = re.compile(r"\b(?:how|what|when|which|who|why|where|whats|wats|wot|whens|hows|can|could|should|shall|is|are|does|do|did|will|remind)\b")
TURNS = re.compile(r"^(?:and|n|an|or|but|ok|okay|no|nope|sorry|srry|sry|so|then|what about|how about|wat about|what if|actually|i meant|i mean|make it|make that|make|at|on|if|by|for|"
                   r"say|same|assume|instead|oh|it's|its|right|anyway|again|try|now|well|um|er|hmm|the other way|and at|just|only)\b")
SAME_AGAIN = re.compile(r"\b(?:same|again|instead|the night after|next one|tomorrow's|the other way|other one)\b")
REFERS = re.compile(r"\b(?:that|it|this|them|those|then|there|same|tht|dat)\b")
FILLER = frozenset("and n an or but ok okay no nope sorry srry sry so then what about how if at on by for say same assume instead oh it's its it is right anyway "
                   "again now well um er hmm the a to of ml mls mil mils an hour per h hr in with left please pls that i i've ive meant mean make run ran set "
                   "only give just was one actually rate till until x cc yeah yes be would it'd i'd about around roughly like said says".split())
BACK_TO = re.compile(r"\b(?:back to|going back|returning to|as i was saying|about the (?:bag|feed|one) (?:before|that))\b")


@dataclass(frozen=True)
class Question:
    name: str                                   # an intent
    card: str | None = None
    p: float = 1.0
    carried: dict[str, Used] = field(default_factory=dict)
    favours: str | None = None                  # the slot a bare number is meant for
    follows: bool = False                       # a turn of the last question, or the answer to what was asked back
    choices: tuple[Candidate, ...] = ()


def decide(text: str, heard: Heard, talk: Talk) -> Question:
    """The question a message asks, in the light of the conversation."""
    ranked = weigh(rank(text), said(heard)) or (Candidate("unclear", None, 1.0),)
    if ranked[0].intent == "clock_change" and about_the_clocks(heard):
        ranked = _beside_the_clocks(text, heard, ranked)
    turn = _chosen(text, talk) or _about_the_talk(text, heard, talk, ranked)
    if turn is not None:
        return turn
    told = _told(text, heard)
    if told is not None and not (talk.asks in ("start", "opened") and told.intent == "log_start"):
        return Question(told.intent)
    if talk.asks is not None and talk.question and _answers(text, heard, talk, ranked):
        return Question(talk.question, carried=talk.slots, favours=talk.asks, follows=True)
    if talk.question and talk.asks is None and _turns(text, heard, talk, ranked):
        return Question(talk.question, carried=talk.slots, favours=_meant_slot(heard, talk), follows=True)
    best = _structure(heard, ranked) or _together(ranked)
    if best.p < CLEAR or best.p - next((c.p for c in ranked if not _akin(best, c)), 0.0) < LEAD:
        return _unsure(ranked)
    carried = _carried(text, heard, talk, best)
    return Question(best.intent, best.card, best.p, carried)


CLOCK_WORDS = re.compile(r"[^,.;?!]*\b(?:clocks?|daylight saving|dst|spring[- ]forward|fall[- ]back)\b[^,.;?!]*?(?=\s(?:what|when|how|whats|whens)\b|[,.;?!]|$)", re.I)


def _beside_the_clocks(text: str, heard: Heard, ranked: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    """The question beside a remark about the clocks, where the rest of the words asks one."""
    rest = CLOCK_WORDS.sub(" ", text).strip(" ,.;?!")
    if len(rest.split()) < 3:
        return ranked
    other = weigh(rank(rest), said(heard))
    return other if other and other[0].p >= CLEAR and other[0].intent in gather.names() else ranked


def _unsure(ranked: tuple[Candidate, ...]) -> Question:
    likely = tuple(c for c in ranked[:3] if c.p >= FAINT)
    if not likely or likely[0].intent == "out_of_scope" and likely[0].p >= 0.3:
        return Question("out_of_scope" if likely else "unclear", p=ranked[0].p)
    offered = tuple(c for c in ranked[:4] if c.p >= FAINT / 2 and c.intent != "out_of_scope")[:3]
    return Question("unclear", p=ranked[0].p, choices=offered)


AKIN = ({"bag_duration", "finish_at", "remaining"}, {"delivered", "remaining"}, {"delivered", "intake"}, {"rate_needed", "change_rate"},
        {"catch_up", "missed_feed"}, {"opened_until", "expired"}, {"discard_at", "left_hanging"}, {"opened_until", "discard_at"},
        {"log_symptom", "vomit_small"}, {"guide", "medicine_by_tube"}, {"flush", "missed_flush"}, {"containers", "supply"}, {"timetable", "plan_lookup"}, {"log_stop", "log_pause"})


def _akin(one: Candidate, other: Candidate) -> bool:
    """Questions whose answers carry each other's figures, or the same help: no need to ask which of them."""
    mine, theirs = one.card or one.intent, other.card or other.intent
    return mine == theirs or any(mine in pair and theirs in pair for pair in AKIN)


def _together(ranked: tuple[Candidate, ...]) -> Candidate:
    """The likeliest candidate, with the shares of those akin to it counted as its own."""
    best = max(ranked[:3], key=lambda c: (sum(o.p for o in ranked[:6] if _akin(c, o)), c.p))
    top = next(c for c in ranked if _akin(best, c))
    return replace(top, p=sum(o.p for o in ranked[:6] if _akin(top, o)))


def _told(text: str, heard: Heard) -> Candidate | None:
    """Something told, not asked, with the time at which it was done: it is for the log."""
    low = text.lower()
    if QUESTION.search(low):
        return None
    dated = any(a.readings[0].kind == "clock" for a in heard.amounts) or re.search(r"\b(?:just|now|ago|this morning|last night)\b", low)
    for intent, words in table("telling_en").items():
        if any(re.search(rf"(?<![\w'])(?:{w})(?![\w'])", low) for w in words["words"]) and (dated or words.get("undated") and len(heard.tokens) <= 7):
            return Candidate(intent, None, 1.0)
    return None


QUESTION = re.compile(r"\?|\b(?:how|what|whats|wots|wot|when|whens|which|why|who|can|could|should|shall|will|would|wanna know|remind|tell me|if|until|till|til|by|supposed|want|need|needs)\b")


def _structure(heard: Heard, ranked: tuple[Candidate, ...]) -> Candidate | None:
    """A sum with hardly a word beside its numbers is told by their kinds: amount over time, amount at a rate."""
    words = [t for i, t in enumerate(heard.tokens) if not any(a.start <= i < a.end for a in heard.amounts) and t.isalpha()]
    sized = any(a.readings[0].kind == "count" and a.readings[0].unit in ("container", "bottle") for a in heard.amounts) and len(heard.amounts) == 2
    if sized and set(words) & {"total", "altogether", "come", "each"} and not set(words) & {"calories", "kcal", "protein", "days", "last"} and ranked[0].p < 0.6:
        return Candidate("convert", None, CLEAR)
    every = "every" in words and any(a.readings[0].kind == "time" for a in heard.amounts)
    if len(words) > (16 if every else 4) or len(heard.amounts) != 2 or ranked[0].p >= CLEAR and ranked[0].intent in gather.names():
        return None
    kinds = {a.readings[0].kind for a in heard.amounts}
    spoken = set(words)
    if "time" in kinds and "every" in spoken and "clock" in kinds and not spoken & {"flush", "flushes", "water", "medicine", "meds"}:
        return Candidate("finish_at", None, CLEAR)
    if "energy" in kinds and spoken & {"x", "times", "each", "at"} and kinds & {"number", "count", "rate"}:
        return Candidate("energy", None, CLEAR)
    if "time" in kinds and kinds & {"volume", "number"} and spoken & {"over", "in"}:
        return Candidate("rate_needed", None, CLEAR)
    if spoken & {"at", "@"} and kinds <= {"volume", "rate", "number"}:
        return Candidate("bag_duration", None, CLEAR)
    return None


def _chosen(text: str, talk: Talk) -> Question | None:
    """One of the choices that were offered, by number, by its words, or "the first"."""
    if talk.asks != "which_question" or not talk.choices:
        return None
    low = text.lower().strip(" .!?")
    numbers = {"1": 0, "one": 0, "first": 0, "the first": 0, "the first one": 0, "2": 1, "two": 1, "second": 1, "the second": 1, "the second one": 1,
               "3": 2, "three": 2, "third": 2, "the third": 2, "the third one": 2, "to": 1, "too": 1, "yes": 0, "yeah": 0, "yep": 0}
    index = numbers.get(low)
    if index is None:
        index = next((i for i, c in enumerate(talk.choices) if low == c["label"].lower()), None)
    if index is None or index >= len(talk.choices):
        return None
    choice = talk.choices[index]
    return Question(choice["intent"], choice.get("card"), 1.0, talk.slots, follows=True)


WAS_IT = re.compile(r"^(?:so |and |sorry |wait |shit |ok )*(?:how (?:much|many|long)|what(?: time)?|when) (?:was|did you say|is) (?:it|that)?(?: again| you said)?[ ?!.]*$")
WHAT_MEANT = re.compile(r"^(?:what do you mean|wdym|huh|eh|how do you mean|what|pardon|i don'?t understand|what's that mean|which number|what number|meaning)[ ?!.]*$")
LOG_TALK = frozenset({"log_start", "log_pause", "log_resume", "log_stop", "log_flush", "log_poured", "log_symptom"})
CORRECTION = re.compile(r"^(?:no|nope|sorry|actually|wait|correction|oops|i mean|i meant|not|sry|srry|no no)\b")


def _about_the_talk(text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...]) -> Question | None:
    """Turns that only the conversation makes clear."""
    low, sure = text.lower().strip(), ranked[0].p
    if WHAT_MEANT.match(low) and talk.last is not None:
        return Question("repeat")
    if WAS_IT.match(low) and talk.last is not None and not heard.amounts:
        again = next((q for q in ((talk.question, talk.slots), *talk.earlier) if q[0] in gather.names()), None)
        if " is " in low and again is not None:
            return Question(str(again[0]), carried={n: u for n, u in again[1].items() if u.origin == "question"}, follows=True)
        return Question("repeat")
    if talk.question in LOG_TALK and CORRECTION.match(low) and heard.amounts and not (ranked[0].intent in LOG_TALK and sure > 0.5):
        return Question(talk.question, favours="start", follows=True)
    if talk.question in ("remind", "cancel_reminder") and len(heard.tokens) <= 6:
        if re.search(r"\b(?:cancel|scrap|forget|drop|delete|bin|never ?mind|don'?t bother|remove|take (?:it|that) off)\b", low):
            return Question("cancel_reminder")
        if talk.question == "remind" and re.match(r"^(?:and|n|also|another|one more)\b", low) and any(a.readings[0].kind in ("clock", "time") for a in heard.amounts):
            return Question("remind")
        if re.search(r"\b(?:any|set|left|what|whats|which|now|still)\b", low) and not heard.amounts and sure < 0.9:
            return Question("log_lookup", follows=True)
    if ranked[0].intent in ("next_step", "previous_step") and talk.guide is None and re.search(r"\b(?:what|whats|what's|wots|when)\b", low):
        return Question("plan_lookup")
    return None


def _meant_slot(heard: Heard, talk: Talk) -> str | None:
    """The slot a bare number is meant for: the one whose last value is nearest to it, else the one changed last."""
    bare = next((a.readings[-1] for a in heard.amounts if a.readings[-1].kind == "number"), None)
    if bare is None or bare.value <= 0 or talk.last_slot in ("start", "finish", "opened"):
        return talk.last_slot
    near = {}
    for name, used in talk.slots.items():
        if used.origin == "question" and isinstance(used.value, Quantity) and used.value.magnitude > 0:
            ratio = bare.value / used.value.magnitude
            near[name] = max(ratio, 1 / ratio)
    best = min(near, key=lambda n: near[n], default=None)
    return best if best is not None and near[best] <= 2 else talk.last_slot


def _answers(text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...]) -> bool:
    """Is this the answer to what was asked back, and not another question?"""
    words = heard.tokens
    if talk.asks in ("which_feed",):
        return len(words) <= 6 and not ASK_WORDS.search(text.lower())
    if not heard.amounts:
        return False
    asks_anew = bool(re.search(r"\b(?:how|what|when|which|who|why|remind|wots|whats|whens)\b", text.lower()))
    if asks_anew and ranked[0].p > 0.5 and ranked[0].intent != talk.question:
        return False
    return len(words) <= 14 or not asks_anew


def _turns(text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...]) -> bool:
    """Is this a turn of the last question: one value changed, few other words?"""
    if talk.question not in gather.names():
        return False
    low = text.lower()
    new = {a.readings[0].kind for a in heard.amounts}
    if not new and not SAME_AGAIN.search(low):
        return False
    plain = [t for i, t in enumerate(heard.tokens) if t not in FILLER and any(c.isalnum() for c in t)
             and not any(a.start <= i < a.end for a in heard.amounts)]
    if len(plain) == 0:
        return True
    asks_other = ranked[0].intent != talk.question and ranked[0].p >= 0.5 and ranked[0].intent in gather.names() | {"plan_lookup", "remind", "caution", "guide"}
    return bool(TURNS.match(low)) and len(plain) <= 4 and not asks_other


def _carried(text: str, heard: Heard, talk: Talk, best: Candidate) -> dict[str, Used]:
    """What an earlier question leaves for this one: only where the words point back to it, or are too few to stand alone."""
    if best.intent not in gather.names():
        return {}
    if BACK_TO.search(text.lower()):
        for name, slots in ((talk.question, talk.slots), *talk.earlier):
            if name in ("bag_duration", "finish_at", "remaining", "delivered", best.intent):
                return slots
    if not talk.question or talk.question not in gather.names():
        return {}
    short = len(heard.tokens) <= 8
    if short or REFERS.search(text.lower()) or best.intent == talk.question and len(heard.tokens) <= 12:
        return {n: u for n, u in talk.slots.items() if u.origin == "question"}
    return {}
