"""What is asked of the answer just given, in few words ("how long's that give me", "any left over", "in ounces").

The words are data: knowledge/follow_ons_en.toml.
"""

from __future__ import annotations

import re
from datetime import datetime
from decimal import Decimal
from functools import cache
from typing import Any, NamedTuple

from assistant import gather
from assistant.dialogue import Talk
from assistant.follow.turns import Question, pattern, said_slots
from assistant.message import Heard
from assistant.numbers.wants import Used
from knowledge.library import table
from rules.quantity import Quantity, qty

AN_AMOUNT = ("delivered", "remaining", "pour", "water", "shortfall", "volume", "leftover", "flush")
FIGURES = "figures"  # the answer just given, with its figures: worked out anew, fewer words could be read otherwise
SPANNED, LONGER = ("containers",), 22  # words
FLUSHED = re.compile(r"\b(?:flush\w*|rins\w*|water)\b", re.IGNORECASE)
SET = ("priming", "priming_volume")


class FollowOn(NamedTuple):
    after: frozenset[str]
    asks: str
    takes: tuple[str, str] | None
    marks: str | None
    says: re.Pattern[str]


@cache
def _known() -> tuple[re.Pattern[str], re.Pattern[str], tuple[FollowOn, ...]]:
    words = table("follow_ons_en")
    lead, tail = (re.compile(words[name], re.IGNORECASE) for name in ("lead", "tail"))
    return lead, tail, tuple(
        FollowOn(
            frozenset(one["after"]),
            one["asks"],
            (one["with"][0], one["with"][1]) if "with" in one else None,
            one.get("marks"),
            re.compile("|".join(f"(?:{says})" for says in one["says"]), re.IGNORECASE),
        )
        for one in words["follow"]
    )


def follows_on(text: str, heard: Heard, talk: Talk) -> Question | None:
    """The question that such words are, right after an answer of the sum they are about."""
    last = talk.last or {}
    if talk.asks is not None or any(a.readings[0].kind != "count" for a in heard.amounts):
        return None
    lead, tail, known = _known()
    plain = tail.sub("", lead.sub("", text.strip().replace("’", "'")))
    if last.get("outcome") in ("done", "answered") and str(last.get("intent")).startswith("log_"):
        after = "log_flush" if last["intent"] == "log_lookup" and FLUSHED.search(talk.text) else str(last["intent"])
        asked = (f.asks for f in known if after in f.after and f.says.fullmatch(plain))
        return next((Question(name, follows=True) for name in asked), None)
    if last.get("outcome") != "answered" or last.get("intent") != talk.question or talk.question not in gather.names():
        return None
    for one in known:
        if talk.question not in one.after or not one.says.fullmatch(plain):
            continue
        if one.marks is not None:
            return Question(str(talk.question), carried={one.marks: Used(True, "question")}, follows=True)
        if one.asks == "step_after":
            at = (last.get("figures") or {}).get("next_at")  # the step ahead that was told
            return Question("advance", carried=_told(at["value"]) if at else {}, follows=True)
        if one.asks == "whole_day":
            return Question(str(talk.question), follows=True, counts="")  # of nothing said: the plan's day
        if one.asks == "same":
            return Question(str(talk.question), carried=said_slots(talk.slots), favours=FIGURES, follows=True)
        name = one.asks
        if one.takes is None:
            return Question(name, carried=said_slots(talk.slots), follows=True)
        if one.takes[0] == "remaining" and pattern("up_to_now").search(text):
            continue  # "kcal so far", after what is still to go
        amount = _figure(last, one.takes[0])
        if amount is not None:
            rate = {n: u for n, u in talk.slots.items() if n == "rate" and u.origin == "question"}
            return Question(name, carried={**rate, one.takes[1]: Used(amount, "question", "")}, follows=True)
    return None


def _told(instant: str) -> dict[str, Used]:
    return {"told": Used(datetime.fromisoformat(instant), "question")}


def flush_done(text: str, heard: Heard, talk: Talk) -> Question | None:
    """ "Done it early, just now, 30", after when the next flush is: it was given, and is written down."""
    if not (talk.question == "flush" == (talk.last or {}).get("intent")) or talk.asks is not None or "?" in text:
        return None
    if not pattern("did_it").match(text):
        return None
    kinds = [a.readings[0].kind for a in heard.amounts]
    volumes = [a.text for a, kind in zip(heard.amounts, kinds, strict=True) if kind in ("number", "volume")]
    times = [a.text for a, kind in zip(heard.amounts, kinds, strict=True) if kind in ("clock", "time")]
    if len(volumes) > 1 or len(times) > 1 or len(volumes) + len(times) < len(kinds):
        return None
    ago = " ago" if "time" in kinds else ""
    when = f" {'' if ago else 'at '}{times[0]}{ago}" if times else " just now"
    return Question("log_flush", follows=True, counts=f"flushed {''.join(volumes)}{when}")


def another_fill(text: str, talk: Talk) -> bool:
    """ "And the second lot?", after how much to pour."""
    same = talk.question == "pour" and talk.asks is None and (talk.last or {}).get("intent") == "pour"
    return same and bool(pattern("another_fill").match(text))


def another_span(text: str, heard: Heard, talk: Talk) -> bool:
    """ "And for a long weekend, four days?", after how many a day takes: the same for that span."""
    if talk.question not in SPANNED or talk.asks is not None or (talk.last or {}).get("intent") != talk.question:
        return False
    kinds = {a.readings[0].kind for a in heard.amounts} - {"day", "date", "time"}
    anew = pattern("asks_anew").search(pattern("what_if").sub("", text))
    return not kinds - {"count"} and len(heard.tokens) <= LONGER and bool(
        pattern("another_span").match(text)) and (not anew or "what about" in text.lower())


def _figure(last: dict[str, Any], name: str) -> Quantity | None:
    """The amount that was answered; of what is poured, without what fills the line."""
    figures = last.get("figures") or {}
    found = [n for n in ((name,) if name else AN_AMOUNT) if figures.get(n, {}).get("unit") == "mL"]
    if not found:
        return None
    amount = Decimal(str(figures[found[0]]["value"]))
    line = next((u for n, u in (last.get("used") or {}).items() if n in SET), None) if name == "pour" else None
    return qty(amount - (Decimal(str(line["value"])) if line is not None else 0), "mL")
