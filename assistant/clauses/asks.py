"""The asks of one message, each to be answered or asked about: what parts.py finds, if each piece asks something."""

from __future__ import annotations

import re

from assistant.asked.question import decide
from assistant.clauses.parts import parts, told_beside
from assistant.dialogue import Talk
from assistant.follow.turns import LOG_TALK, pattern
from assistant.hear import hear

LOOK_UPS = ("plan_lookup",)  # two of them are of two things
NOT_CLEAR = ("unclear", "out_of_scope")
GIVES = re.compile(r"(?:and |so )*(?:the )?(?:start(?:ing)?|begin(?:ning)?) (?:time|hour)\b", re.IGNORECASE)
SAYS_OF_WHAT = frozenset({"intake", "water"})  # whose answers hold what is planned, and what is missing of it
KEEPING = {"discard_at", "opened_until"}
ASKS_ITSELF = re.compile(  # "if I press start at 9 when does he finish", and more is asked after it
    r"\b(?:when (?:does|do|will|is|would)|how (?:much|many|long)|what (?:time|rate))\b", re.IGNORECASE
)
LEAST = 3  # words of a piece that is asked about where it is not understood
#: asks that use nothing of what was told of a feed's times or amounts; of a flush
NOT_OF_THE_FEED = frozenset({
    "energy", "protein", "per_kg", "plan_lookup", "contact", "convert", "remind", "mix", "supply", "strength", "prime",
    "drops", "cancel_reminder",
})
OF_A_FLUSH = frozenset({"flush", "water", "timetable", "log_lookup", "unclear", "out_of_scope", "caution", "guide"})


def asks_of(text: str, talk: Talk) -> tuple[str, ...]:
    """The pieces to be answered one by one, in order; the whole message where it asks one thing."""
    entries, rest = _entries(text) if talk.asks is None else ((), text)
    found = _with_what_if(parts(rest))
    if len(found) < 2:
        return (*entries, rest) if entries else (text,)
    names = [_named(p) for p in found]
    if len(set(names)) == 1 and names[0] not in LOOK_UPS:
        return (*entries, rest) if entries else (text,)
    if set(names) & KEEPING and set(names) <= {*KEEPING, "log_poured", "log_start"}:
        return (text,)  # "filled at 8:20. When does it have to come down?": told for that
    if any(map(_is_a_value, found, names)) and _named(rest) not in LOG_TALK:
        return (*entries, rest) if entries else (text,)
    clear = [p for p, name in zip(found, names, strict=True) if name not in NOT_CLEAR]
    other = [p for p, name in zip(found, names, strict=True) if name in NOT_CLEAR]
    if other and (not clear or not _stand_alone(other, names, rest)):
        return (*entries, rest) if entries else (text,)
    return (*entries, *clear, *other)


def _is_a_value(piece: str, name: str) -> bool:
    """ "Starting time: half five. Finish?": the first piece gives the sum its start; it is no entry for the log."""
    return name in LOG_TALK and "?" not in piece and hear(piece).amounts != () and bool(GIVES.match(piece))


def _with_what_if(pieces: tuple[str, ...]) -> tuple[str, ...]:
    """ "What if it goes on again at ten, when is it done?": a case that is put belongs to the question after it.

    So does "remind a forgetful man": it asks for what comes after it, and sets no reminder.
    """
    joined: list[str] = []
    for piece in pieces:
        if joined and pattern("is_it_enough").match(piece) and _named(joined[-1]) in SAYS_OF_WHAT:
            joined[-1] += f", {piece}"  # its answer says so
            continue
        leads = any(pattern(name).match(joined[-1]) for name in ("what_if", "reminds_of")) if joined else False
        if leads and not joined[-1].endswith("?") and not ASKS_ITSELF.search(joined[-1]):
            joined[-1] += f", {piece}"
        else:
            joined.append(piece)
    return tuple(joined)


def _named(piece: str) -> str:
    return decide(piece, hear(piece), Talk()).name


def _stand_alone(pieces: list[str], names: list[str], whole: str) -> bool:
    """Are pieces that are not understood asks of their own, to be asked about, and no part of what the whole asks?"""
    if not all(len(p.split()) >= LEAST and _asks_outright(p) for p in pieces):
        return False
    name = _named(whole)
    return name in NOT_CLEAR or ("out_of_scope" not in names and name in names)


def _asks_outright(piece: str) -> bool:
    return bool(pattern("asks_first").search(piece) and (pattern("asks_anew").search(piece) or "?" in piece)) or (
        piece.lower().startswith("is ")
    )


def _tells_of_amounts(piece: str, name: str) -> bool:
    """Does a sentence tell of amounts that what is asked may be of? A flush has one of its own."""
    amounts = [a for a in hear(piece).amounts if a.readings[0].kind not in ("clock", "day", "date")]
    return len(amounts) > (1 if name == "log_flush" else 0)


def _entries(text: str) -> tuple[tuple[str, ...], str]:
    """ "Flushed 60. Also what's the rate?": what is told for the log and plays no part in what is asked beside it."""
    told, rest = told_beside(text)
    names = [_named(p) for p in told]
    if not told or not all(name in LOG_TALK and name != "log_symptom" for name in names):
        return (), text
    if pattern("refers").search(rest) or any(_tells_of_amounts(*one) for one in zip(told, names, strict=True)):
        return (), text
    asked = {_named(p) for p in parts(rest)}
    apart = all(asked.isdisjoint(OF_A_FLUSH) if name == "log_flush" else asked <= NOT_OF_THE_FEED for name in names)
    return (told, rest) if apart else ((), text)
