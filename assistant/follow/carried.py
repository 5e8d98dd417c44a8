"""What an earlier question, or its answer, leaves for the next one."""

from __future__ import annotations

import re
from datetime import datetime
from decimal import Decimal

from assistant import gather
from assistant.dialogue import Talk
from assistant.follow.turns import LONG, SHORT, after_a_sum, pattern, said_slots
from assistant.hear import hear
from assistant.message import Heard
from assistant.numbers.wants import Used
from assistant.understand import Candidate
from knowledge.library import table
from rules.clock import before
from rules.quantity import qty

ABOUT_A_BAG = ("bag_duration", "finish_at", "remaining", "delivered")
OF_FOOD = ("energy", "protein")
OF_THAT = ("energy", "protein", "convert", "containers", "syringe", "per_kg")
AN_AMOUNT = ("shortfall", "delivered", "remaining", "pour", "water", "value", "volume")
OF_A_PLAIN_RUN = frozenset({"total", "rate", "start", "volume", "now", "over", "given"})
OF_A_DRY_LINE = ("bag_duration", "finish_at")
WHAT_RUNS = ("volume", "total", "given", "start")
WITH_ITS_OWN_RATE = ("change_rate", "catch_up")
WHAT_LACKS = re.compile(r"\b(?:short|missing|missed|lacking|behind|still to (?:go|come)|left)\b", re.IGNORECASE)
IN_THE_ANSWER = {"finish_at": "finish_at", "bag_duration": "duration", "remaining": "remaining",
                 "delivered": "delivered", "catch_up": "shortfall", "rate_needed": "rate"}
SO_FAR = ("delivered", "intake")
OF_WHAT_WAS_HAD = ("energy", "protein", "water")
BY_NOW = (*SO_FAR, "remaining", "catch_up")


def _worked_out(text: str, heard: Heard, talk: Talk, best: Candidate) -> dict[str, Used] | None:
    """ "And how many calories is that?", after an amount was worked out: the amount of the last answer is meant."""
    if best.intent not in OF_THAT or heard.amounts or talk.last is None:
        return None
    if not pattern("of_that").search(text) and not (best.intent in OF_FOOD and _adds_a_few_words(heard, talk)):
        return None
    figures = talk.last.get("figures") or {}
    if best.intent in OF_FOOD and {"planned", "delivered"} <= figures.keys() and pattern("went_without").search(text):
        short = max(0, figures["planned"]["value"] - figures["delivered"]["value"])
        return {"volume": Used(qty(Decimal(str(short)), "mL"), "question", "")}
    if pattern("up_to_now").search(text) and "delivered" not in figures:
        return None  # "kcal so far", after what is still to go
    if best.intent in OF_FOOD and "remaining" in figures and WHAT_LACKS.search(text):  # "what's that short in calories"
        return {"volume": Used(qty(Decimal(str(figures["remaining"]["value"])), "mL"), "question", "")}
    name = next((n for n in AN_AMOUNT if n in figures and figures[n].get("unit") == "mL"), None)
    if talk.last.get("intent") == best.intent:
        return None
    if name is None and (looked_up := _one_volume(talk)) is not None:
        return {"amount" if best.intent == "convert" else "volume": looked_up}
    if name is None:
        told = talk.slots.get("volume")
        of_food = talk.question in OF_WHAT_WAS_HAD  # "and protein?", "how much energy is that per kilo?"
        return None if told is None or (told.origin != "question" and not of_food) else {"volume": told}
    amount = qty(Decimal(str(figures[name]["value"])), "mL")
    slot = "amount" if best.intent == "convert" else "volume"
    return {slot: Used(amount, "question", "")}


def _one_volume(talk: Talk) -> Used | None:
    """The one amount that the last look-up of the plan told ("gimme that in ounces")."""
    last = talk.last or {}
    if last.get("intent") != "plan_lookup" or last.get("outcome") != "answered":
        return None
    told = {r.value for a in hear(last["text"]).amounts for r in a.readings[:1] if (r.kind, r.unit) == ("volume", "mL")}
    return Used(qty(told.pop(), "mL"), "question", "") if len(told) == 1 else None


def _adds_a_few_words(heard: Heard, talk: Talk) -> bool:
    """ "Energy for the chart too?", right after a sum of what was told: of no feed or day of its own."""
    told = any(used.origin == "question" for used in talk.slots.values())
    own = set(heard.tokens) & set(table("turns_en")["words"]["of_a_whole"].split())
    return after_a_sum(talk) and told and len(heard.tokens) <= LONG and not own


def _of_what_was_had(text: str, heard: Heard, talk: Talk, best: Candidate) -> dict[str, Used] | None:
    """ "And the protein?", after what was had by the log was told: of that, not of the plan's whole day."""
    last = talk.last or {}
    if best.intent not in OF_WHAT_WAS_HAD or heard.amounts or not pattern("adds_to_it").match(text):
        return None
    offered = [c["intent"] for c in (last.get("choices") or ())[:1]] if last.get("intent") == "unclear" else []
    if (talk.asks is not None and talk.question in SO_FAR) or set(offered) & set(SO_FAR):
        return {"of_that": Used(True, "question")}  # how much it was is asked still: not the plan's whole day
    if last.get("intent") not in (*SO_FAR, *OF_WHAT_WAS_HAD) or last.get("outcome") != "answered":
        return None
    used = last.get("used") or {}
    if last.get("intent") in SO_FAR and not any(v["from"] == "feed log" for v in used.values()):
        told = (last.get("figures") or {}).get("delivered")  # of what was told to have gone in
        if told is None or talk.at is None:
            return None
        return {"volume": Used(qty(Decimal(str(told["value"])), "mL"), "question", "")}
    had = next((used[n] for n in ("given", "volume") if n in used and used[n]["from"] == "feed log"), None)
    if had is None or had.get("unit") != "mL":
        return None
    return {"volume": Used(qty(Decimal(str(had["value"])), "mL"), "feed log", "")}


def in_the_last_answer(heard: Heard, talk: Talk, best: Candidate) -> bool:
    """ "And when is that done?", where the answer just given holds it: the same sum stands, whatever it was made of."""
    figure, last = IN_THE_ANSWER.get(best.intent), talk.answer
    if figure is None or last is None or last != talk.last or talk.question not in gather.names():
        return False
    same = last["intent"] == talk.question and talk.asks is None and best.intent != talk.question
    same = same and (talk.question in WITH_ITS_OWN_RATE or best.intent != "finish_at")
    plain_run = talk.question in WITH_ITS_OWN_RATE or last["used"].keys() <= OF_A_PLAIN_RUN  # no pause was told
    return same and plain_run and figure in last["figures"] and not heard.amounts


def _timed(heard: Heard) -> bool:
    return any(a.readings[0].kind in ("clock", "time") for a in heard.amounts)


def _after(value: object, at: datetime) -> bool:
    return isinstance(value, datetime) and before(at, value)


def told_before(talk: Talk) -> dict[str, Used]:
    """What was said of a run; where it hangs on a dry line, what fills the line as well: that is taken off still."""
    kept = said_slots(talk.slots)
    if talk.question in OF_A_DRY_LINE and "priming_volume" in talk.slots:
        kept["priming_volume"] = talk.slots["priming_volume"]
    return _as_a_run(kept, talk) if talk.question in ("remaining", "delivered") else kept


def _as_a_run(kept: dict[str, Used], talk: Talk) -> dict[str, Used]:
    """ "About 320 in the bag", "and if I paused an hour, what time then?": what was left is what runs.

    With its start told, all of it runs from then ("on since 6:10 at 100, 450 in all: what's left?", "so finished at?").
    """
    rest = ((talk.last or {}).get("figures") or {}).get("remaining")
    if "total" not in kept or "volume" in kept:
        return kept
    if "start" in kept and "given" not in kept:
        return {**{n: used for n, used in kept.items() if n != "total"}, "volume": kept["total"]}
    if rest is None or talk.question != "remaining":
        return kept
    told = {n: used for n, used in kept.items() if n not in ("total", "given")}
    return {**told, "volume": Used(qty(Decimal(str(rest["value"])), "mL"), "question", "")}


def _of_that_bag(heard: Heard, talk: Talk, best: Candidate) -> bool:
    """ "Good. And at what hour will it be empty?", right after how long 236 lasts: no feed of its own is named."""
    of_a_bag = talk.question in ABOUT_A_BAG and best.intent in ABOUT_A_BAG and after_a_sum(talk)
    return of_a_bag and not heard.amounts and _adds_a_few_words(heard, talk)


def _begun_then(heard: Heard, talk: Talk, best: Candidate) -> bool:
    """ "Hooking up at ten tonight, so done by", right after how long 700 lasts at 85: that bag, from then."""
    told = {a.readings[0].kind for a in heard.amounts}
    of_a_bag = talk.question == "bag_duration" and best.intent == "finish_at" and after_a_sum(talk)
    own = set(heard.tokens) & set(table("turns_en")["words"]["of_a_whole"].split()) - A_DAYS_PART
    return of_a_bag and "clock" in told and told <= TIME_OF_DAY and len(heard.tokens) <= LONG and not own


TIME_OF_DAY = frozenset({"clock", "day", "date"})
A_DAYS_PART = frozenset({"tonight", "today", "tomorrow", "night", "day"})


def carried(text: str, heard: Heard, talk: Talk, best: Candidate) -> dict[str, Used]:
    """What an earlier question leaves for this one: only where the words point back, or are too few to stand alone."""
    if best.intent not in gather.names():
        return {}
    if (worked := _worked_out(text, heard, talk, best)) is not None:
        return worked
    if (had := _of_what_was_had(text, heard, talk, best)) is not None:
        return had
    if pattern("back_to").search(text):
        for name, slots in ((talk.question, talk.slots), *talk.earlier):
            if name in (*ABOUT_A_BAG, best.intent):
                return slots
    if talk.question not in gather.names():
        return {}
    if talk.asks is not None and best.intent != talk.question and not pattern("refers").search(text):
        return {}  # what an open question was told is its own
    if talk.question == "change_rate" and best.intent in SO_FAR:
        return {n: used for n, used in said_slots(talk.slots).items() if n != "rate"}  # what would be, not what ran
    if talk.question == "delivered" and best.intent == "remaining" and not _timed(heard):
        last = talk.last or {}
        given = last.get("figures", {}).get("delivered") if last.get("intent") == "delivered" else None
        if given is not None:  # "so what's left of the 648?": the whole less what was just worked out
            kept = {n: used for n, used in talk.slots.items() if n in ("rate", "total")}  # of the same run
            rest = last.get("figures", {}).get("remaining")
            if rest is not None and "total" not in kept and not heard.amounts:  # the log's own amount, not the plan's
                kept["total"] = Used(qty(Decimal(str(given["value"])) + Decimal(str(rest["value"])), "mL"), "feed log")
            return {**kept, "given": Used(qty(Decimal(str(given["value"])), "mL"), "question", "")}
    if best.intent == "change_rate" and talk.question in ABOUT_A_BAG and after_a_sum(talk):
        return {n: used for n, used in said_slots(talk.slots).items() if n in WHAT_RUNS}  # "and at 75 instead?"
    kept = told_before(talk) if best.intent in OF_A_DRY_LINE else said_slots(talk.slots)
    if best.intent in BY_NOW and "start" in kept and "volume" in kept and "total" not in kept:
        kept["total"] = kept["volume"]  # what was hung for a run that began: the whole that some is left of
    if best.intent in BY_NOW and talk.at is not None:  # a start still to come ("back on at ten") gave nothing
        kept = {n: used for n, used in kept.items() if not (n == "start" and _after(used.value, talk.at))}
    if talk.question == "start_by" and best.intent == "rate_needed" and after_a_sum(talk) and "volume" in talk.slots:
        return {**kept, "volume": talk.slots["volume"]}  # "nodded off. It's 9:15 now, what must it run at?": of that
    if _begun_then(heard, talk, best):
        return {n: used for n, used in kept.items() if n not in ("start", "now", "off")}
    same = best.intent == talk.question and len(heard.tokens) <= LONG
    on = after_a_sum(talk) and len(heard.tokens) <= LONG and pattern("goes_on_so").match(text)
    if len(heard.tokens) <= SHORT or same or on or _of_that_bag(heard, talk, best) or pattern("refers").search(text):
        return kept
    return {}
