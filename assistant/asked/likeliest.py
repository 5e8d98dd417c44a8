"""What the words of a message may ask, likeliest first: of the part of them that asks.

Acting on it needs a clear lead over what it is not akin to; which is acted on, question.py decides.
"""

from __future__ import annotations

import re

from assistant import gather
from assistant.asked.plausible import about_the_clocks, at_share, weigh, without, without_entries
from assistant.clauses.asides import names_feeding, the_question
from assistant.follow.turns import pattern
from assistant.hear import hear
from assistant.message import Heard
from assistant.numbers.said import said
from assistant.told.acts import act_named
from assistant.understand import Candidate, elsewhere, rank

CLEAR = 0.42  # a sum is acted on from this share up: what it lacks it asks for
BESIDE = 0.3  # a sum beside a remark about the clocks: every answer counts real hours anyway
SURE = 0.5  # anything that is said or written down at once needs more
KEEPING, A_TRACE = ("opened_until", "discard_at"), 0.05
WHOLE_FEED = 0.9  # "how long does her feed take?": all of it, by the plan, and when it ends
CERTAIN = 0.9  # what asks says it alone, beside a story of a feed
LEAD = 0.12  # ... and a lead of this much over the next

LOOK_UPS = ("plan_lookup", "log_lookup", "contact")  # they only read
ASKED = (gather.names() - {"clock_change"}) | set(LOOK_UPS) | {"handoff", "remind"}
BESIDE_A_QUESTION = ("out_of_scope", "remark", "greet", "thanks", "unclear")

AKIN = (
    {"bag_duration", "finish_at", "remaining"},
    {"delivered", "remaining"},
    {"delivered", "intake"},
    {"rate_needed", "change_rate"},
    {"catch_up", "missed_feed"},
    {"opened_until", "expired"},
    {"discard_at", "left_hanging"},
    {"opened_until", "discard_at"},
    {"log_symptom", "vomit_small"},
    {"guide", "medicine_by_tube"},
    {"flush", "missed_flush"},
    {"containers", "supply"},
    {"timetable", "plan_lookup"},
    {"log_stop", "log_pause"},
    {"strength", "mix"},
    {"strength", "infant_mixing"},  # either way the mix is the care team's to change
)


def what_it_may_ask(text: str, heard: Heard) -> tuple[Candidate, ...]:
    """What the words may ask, likeliest first: of the part of them that asks."""
    ranked = weigh(rank(text), said(heard)) or (Candidate("unclear", None, 1.0),)
    if text.rstrip().endswith("?") and len(ranked) > 1:
        ranked = without(ranked, "remark")  # what is only told asks nothing
    if ranked[0].intent == "opened_until" and pattern("hung_up").search(text) and not pattern("kept_cold").search(text):
        ranked = (Candidate("discard_at", None, ranked[0].p), *without(ranked, "opened_until", "discard_at"))
    if ranked[0].intent not in KEEPING and ranked[0].card is None and pattern("how_long_it_keeps").search(text):
        ranked = _of_how_it_keeps(text, ranked)
    filled = ranked[0].intent == "log_poured" or act_named(said(heard)) in ("pour", "hang")
    if filled and pattern("asks_of_keeping").search(text):  # "filled at ten to eight, is that alright or has it had it"
        ranked = _surely("discard_at", ranked)
    ends = pattern("asks_of_its_end").search(text) and not pattern("asks_of_keeping").search(text)
    if ends and ranked[0].card is None and (ranked[0].intent in KEEPING or ranked[0].p < CLEAR):
        ranked = _surely("finish_at", ranked)  # "hung it at nine, when does it finish"
    if ranked[0].intent == "mix" and ranked[0].p < CERTAIN and pattern("another_strength").search(text):
        ranked = _surely("strength", ranked)
    if ranked[0].intent == "remaining" and pattern("pours_more").search(text):
        ranked = _surely("pour", ranked)
    if ranked[0].card == "left_hanging" and _hour_told(heard):
        ranked = (Candidate("discard_at", None, ranked[0].p), *without(ranked, "discard_at"))  # by its limit
    if ranked[0].intent == "clock_change" and about_the_clocks(heard) and not pattern("clocks_asked").search(text):
        ranked = _beside_the_clocks(text, heard, ranked)
    if not heard.amounts and ranked[0].card is None and pattern("how_long_a_feed").match(text):
        ranked = (Candidate("finish_at", None, WHOLE_FEED), *(at_share(c, c.p * (1 - WHOLE_FEED)) for c in ranked))
    if pattern("asks_of_a_sum").search(text):  # told beside a question: it is asked, and writes nothing
        ranked = without_entries(ranked)
    if ranked[0].intent == "remaining" and not _of_amounts(heard) and pattern("asks_both").search(text):
        ranked = (Candidate("delivered", None, ranked[0].p), *without(ranked, "delivered", "remaining"))
    if pattern("asks_how").search(text) and not pattern("reminder_named").search(text):
        more = ("out_of_scope",) if pattern("calls_off").search(text) and "alarm" in text.lower() else ()
        ranked = without(ranked, "cancel_reminder", *more)  # "how do i kill the alarm"
    if ranked[0].intent == "per_kg" and not pattern("of_a_weight").search(text):
        ranked = without(ranked, "per_kg")  # "the cylinder is 12 kg": a weight of something else
    if pattern("back_clause").match(text) and (rest := pattern("back_clause").sub("", text)):
        ranked = weigh(rank(rest), said(heard)) or ranked
    return _by_what_asks(text, heard, ranked)


def _of_how_it_keeps(text: str, ranked: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    """How long formula keeps or hangs, asked in words at home elsewhere too ("how long can I keep an open carton")."""
    keeping = next((c for c in ranked[:3] if c.intent in KEEPING and c.p >= A_TRACE), None)
    if keeping is None or elsewhere(text):
        return ranked
    return _surely(keeping.intent, ranked)


def _surely(intent: str, ranked: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    """The ranking with what the words name outright far ahead of all else."""
    rest = (at_share(c, c.p * (1 - WHOLE_FEED)) for c in without(ranked, intent))
    return (Candidate(intent, None, WHOLE_FEED), *rest)


def _of_amounts(heard: Heard) -> bool:
    """Is an amount or a rate told, and not only times?"""
    return any(a.readings[0].kind not in ("time", "clock", "day", "date") for a in heard.amounts)


def _hour_told(heard: Heard) -> bool:
    """ "Dad mixed his milk at ten to seven": the one hour told is the milk's own."""
    timed = [s for s in said(heard).spoken if s.reading("clock") is not None]
    return len(timed) == 1 and bool(OF_THE_MILK.search(timed[0].before)) and timed[0].roles.get("noise", 0.0) <= SURE


OF_THE_MILK = re.compile(
    r"\b(?:bag|bottle|feed|milk|lot|pouch) (?:went|has gone|was put|has been|'s been|been|is|was) up"
    r"(?: (?:at|since|about|around))*$|"
    r"\b(?:made|make|mixed|poured|opened|hung|prepared|warmed|decanted|spiked)(?: (?:it|that|this|one|up|out|the|a|his"
    r"|her|my|their|some|fresh|new|milk|feed|formula|bottle|bag|batch|lot|[\w]+'s)){0,5}"
    r"(?: (?:at|about|around|from|since|by|roughly|just|only|before|after))*$"
)


def clear(best: Candidate, ranked: tuple[Candidate, ...]) -> bool:
    """Is a candidate likely enough to act on, and well ahead of what it is not akin to?"""
    least = CLEAR if best.intent in gather.names() else SURE
    return best.p >= least and best.p - next((c.p for c in ranked if not akin(best, c)), 0.0) >= LEAD


def _by_what_asks(text: str, heard: Heard, ranked: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    """The ranking; where the whole tells no question of ours, that of the words that ask ("Dog is fine. When ...")."""
    best = together(ranked)
    if best.intent in OF_A_RUN and (asked := _by_the_clause_that_asks(text, heard)) is not None:
        return asked
    if best.intent not in BESIDE_A_QUESTION and clear(best, ranked):
        return ranked
    question = the_question(text)
    other = weigh(rank(question), said(heard)) if question else ()
    apart = bool(question) and len(hear(str(question)).amounts) < len(heard.amounts)  # told of what stands beside it
    if question and other and other[0].intent in gather.names() and (apart or elsewhere(question)):
        sure = other[0].p >= CERTAIN and not clear(best, ranked) and names_feeding(text)
        return other if sure else ranked  # "a train does 240 km in 3 hours, what's its speed"
    plain = bool(other) and other[0].intent in ASKED and other[0].card is None and clear(together(other), other)
    return other if plain else ranked


def _by_the_clause_that_asks(text: str, heard: Heard) -> tuple[Candidate, ...] | None:
    """ "200 still in the bag, started at six, what's she had": which sum it is, the clause that asks says, where it
    names one outright and the numbers stand in the others."""
    told, _, asks = text.rpartition(",")
    if not told or not heard.amounts or len(asks.split()) < LEAST or hear(asks).amounts:
        return None
    if not pattern("asks_first").search(asks.strip()) or not hear(told).amounts:
        return None
    other = rank(asks.strip())
    return other if other and other[0].intent in OF_A_RUN and other[0].p >= OUTRIGHT else None


OF_A_RUN = ("delivered", "remaining", "finish_at", "bag_duration", "start_by", "rate_needed", "energy")
LEAST, OUTRIGHT = 3, 0.97


def _beside_the_clocks(text: str, heard: Heard, ranked: tuple[Candidate, ...]) -> tuple[Candidate, ...]:
    """The question beside a remark about the clocks, where the rest of the words asks one."""
    rest = pattern("clocks").sub(" ", text).strip(" ,.;?!")
    if len(rest.split()) < 3:
        return ranked
    other = weigh(rank(rest), said(heard))
    if other and other[0].intent == "clock_change":
        return ranked
    return other if other and other[0].p >= BESIDE and other[0].intent in gather.names() else ranked


def akin(one: Candidate, other: Candidate) -> bool:
    """Questions whose answers carry each other's figures, or the same help: no need to ask which of them."""
    mine, theirs = one.card or one.intent, other.card or other.intent
    return mine == theirs or any(mine in pair and theirs in pair for pair in AKIN)


def together(ranked: tuple[Candidate, ...]) -> Candidate:
    """The likeliest candidate, with the shares of those akin to it counted as its own."""
    best = max(ranked[:3], key=lambda c: (sum(o.p for o in ranked[:6] if akin(c, o)), c.p))
    top = next(c for c in ranked if akin(best, c))
    return at_share(top, sum(o.p for o in ranked[:6] if akin(top, o)))
