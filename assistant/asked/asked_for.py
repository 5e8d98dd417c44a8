"""Words that name outright what is asked ("what rate", "boxes?"), where the numbers beside them fit. A help to the ear.

The words are data: knowledge/asked_en.toml.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from assistant.understand import Candidate
from knowledge.library import table

WORTH = 1.2  # what naming a question is worth beside its share; a near certain other reading stays in the running
OUTSIDE = 0.5  # what "not ours" still counts for, where one of our questions is named outright
CERTAIN = 0.95  # from this share on a sum is not moved
#: what a question named outright moves, however sure: "300 still to give, what do I pour", "in it, is it still ok"
STANDS_BACK = {"discard_at": ("remaining",), "bag_duration": ("pour",), "delivered": ("pour", "catch_up"),
               "pour": ("remaining", "prime"), "change_rate": ("advance",), "finish_at": ("catch_up",),
               "remaining": ("catch_up", "finish_at")}
LOOK_UPS = frozenset({"plan_lookup", "contact"})  # they only read: named outright, they go before a card or a sum


@dataclass(frozen=True)
class _Asking:
    """How a question is named, and the kinds of number that must and must not stand beside it."""

    words: re.Pattern[str]
    unless: re.Pattern[str] | None
    groups: tuple[frozenset[str], ...]
    without: frozenset[str]


def _pattern(words: list[str]) -> re.Pattern[str]:
    return re.compile("|".join(rf"(?<![\w'])(?:{w})(?![\w'])" for w in words), re.IGNORECASE)


@cache
def _askings() -> tuple[tuple[str, _Asking], ...]:
    """Each way of naming a question; `also` holds further ways of the same one, with numbers of their own."""
    return tuple(
        (
            intent,
            _Asking(
                _pattern(way["words"]),
                _pattern(way["unless"]) if "unless" in way else None,
                tuple(frozenset(group) for group in way.get("with", ())),
                frozenset(way.get("without", ())),
            ),
        )
        for intent, entry in table("asked_en").items()
        for way in (entry, *entry.get("also", ()))
    )


def named(text: str, kinds: set[str]) -> frozenset[str]:
    """The questions that the words name and the kinds of number fit."""
    kinds = (kinds - {"day", "date"}) or {"none"}
    return frozenset(
        intent
        for intent, ask in _askings()
        if all(group & kinds for group in ask.groups)
        and not ask.without & kinds
        and ask.words.search(text)
        and not (ask.unless and ask.unless.search(text))
    )


@cache
def _short_asks() -> dict[str, re.Pattern[str]]:
    """Whole messages that ask one thing and hold nothing else (knowledge/short_asks_en.toml)."""
    around = table("short_asks_en")["around"]
    lead, tail = rf"(?:{around['lead']}[ ,.!]+)*", rf"(?:[ ,.!?]+{around['tail']})*[ .!?]*"
    asks = {i: "|".join(e["asks"]) for i, e in table("short_asks_en").items() if i != "around"}
    return {
        intent: re.compile(f"{lead}(?:{ask.replace('{who}', around['who'])}){tail}", re.IGNORECASE)
        for intent, ask in asks.items()
    }


def outright(text: str) -> str | None:
    """The one question that a short message asks with all of its words; None where it says more, or is told."""
    words = text.strip()
    return next((intent for intent, ask in _short_asks().items() if ask.fullmatch(words)), None)


def _gives_way(candidate: Candidate) -> bool:
    """A card's advice, or what another strength would mean: the danger station has heard the same words before."""
    return candidate.card is not None or candidate.intent in ("strength", "remark", "timetable")


def _an_entry(candidate: Candidate) -> bool:
    return candidate.intent.startswith("log_") and candidate.intent != "log_lookup"


def lifted(ranked: tuple[Candidate, ...], text: str, kinds: set[str]) -> tuple[Candidate, ...]:
    """The ranking with the questions that are named outright lifted; shares still add up to one."""
    short = outright(text) if not kinds - {"day", "date"} else None
    if short is not None:
        rest = tuple(Candidate(c.intent, c.card, c.p * (1 - CERTAIN)) for c in ranked if c.intent != short or c.card)
        return (Candidate(short, None, CERTAIN), *rest)
    found = named(text, kinds)
    sure = bool(ranked) and ranked[0].p >= CERTAIN and ranked[0].intent not in ("out_of_scope", "unclear")
    sure = sure and not (ranked[0].intent == "remark" and "check_settings" in found)
    back = {"out_of_scope"} | {intent for name in found for intent in STANDS_BACK.get(name, ())} - found
    sure = sure and ranked[0].intent not in back
    sure = sure and not _an_entry(ranked[0])  # what is told may be asked of as well
    gives_way = bool(ranked) and (_gives_way(ranked[0]) or (ranked[0].intent == "supply" and "contact" in found))
    if not ranked or not found or (sure and not (found & LOOK_UPS and gives_way)):
        return ranked
    kept = {c.intent for c in ranked if c.card is None}
    every = (*ranked, *(Candidate(intent, None, 0.0) for intent in sorted(found - kept)))
    asked = not found & LOOK_UPS
    less = [
        OUTSIDE if c.intent in back or (sure and _gives_way(c)) or (asked and _an_entry(c)) else 1.0
        for c in every
    ]
    more = [WORTH if c.card is None and c.intent in found else 0.0 for c in every]
    worth = [c.p * share + named for c, share, named in zip(every, less, more, strict=True)]
    whole = sum(worth)
    moved = (Candidate(c.intent, c.card, p / whole) for c, p in zip(every, worth, strict=True))
    return tuple(sorted(moved, key=lambda c: -c.p))
