"""What was done, told in one message with its times: "stopped it at 11.40, back on five to midnight".

The words of each act are data (knowledge/acts_en.toml). An act takes the numbers that stand beside it, up to the next
act. Where a number fits none of them nothing is read: the caller asks. Nothing here writes or decides what fits a log.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from functools import cache

from assistant.message import Amount, Reading
from assistant.said import Said, Spoken
from knowledge.library import table

STOPS = frozenset({".", "!", ";"})
JOINERS = frozenset({",", "and", "then", "so", "but", "&", "+", "before", "after"})
LAST_HOUR = 12


@dataclass(frozen=True)
class Act:
    """One act as told. `until`: the end of a pause, a clock time or "now"; `lasted`: its length."""

    what: str
    clock: Reading | None = None
    until: Reading | str | None = None
    lasted: Reading | None = None
    volume: Reading | None = None
    rate: Reading | None = None
    day: str | None = None
    for_good: bool = False
    now: bool = False


@cache
def _verbs() -> re.Pattern[str]:
    words = table("acts_en")
    number = {"<time>": "\x01", "<volume>": "[\x01\x02]", "<rate>": "[\x01\x02]"}
    found: list[str] = []
    for what, patterns in words["acts"].items():
        for written in sorted(patterns, key=len, reverse=True):
            for mark, sign in number.items():
                written = written.replace(mark, sign)
            found.append(f"(?P<{what}{len(found)}>{written.replace('{them}', words['them'])})")
    return re.compile(rf"(?<![\w'])(?:{'|'.join(found)})(?![\w'])")


def _words(said: Said) -> tuple[str, list[int]]:
    """The message's words in one line, a number as one sign (\x01 may be a time, \x02 not), and each word's place."""
    tokens = list(said.heard.tokens)
    for spoken in said.spoken:
        amount = spoken.amount
        if spoken.roles.get("noise", 0.0) <= 0.9 and amount.readings[0].kind not in ("day", "date"):
            sign = "\x01" if spoken.reading("clock", "time") or _hour(amount) else "\x02"
            tokens[amount.start : amount.end] = [sign, *[""] * (amount.end - amount.start - 1)]
    places, length = [], 0
    for token in tokens:
        places.append(length)
        length += len(token) + 1 if token else 0
    return " ".join(t for t in tokens if t), places


def _hour(amount: Amount) -> Reading | None:
    """A bare number that may be an hour: "started 10"."""
    bare = amount.readings[0]
    if bare.kind == "number" and bare.value == int(bare.value) and 1 <= bare.value <= LAST_HOUR:
        return Reading("clock", int(bare.value) * 60, "12h")
    return None


def _upper(amount: Amount) -> Reading | None:
    """The second time of "11 to 11.30"; None where it is an "or", or no time of day."""
    assert amount.upper is not None
    hour = int(amount.upper)
    minutes = int(100 * (amount.upper - hour))
    if not re.search(r"\bto\b|till?\b|until|-", amount.text) or hour > 23 or minutes > 59:
        return None
    return Reading("clock", hour * 60 + minutes, "12h" if 1 <= hour <= LAST_HOUR else "24h")


def acts_told(said: Said) -> tuple[Act, ...]:
    """The acts in the order told; empty where there is none, or where a number belongs to none of them."""
    line, places = _words(said)
    verbs = [(m.lastgroup.rstrip("0123456789"), places.index(m.start()), m) for m in _verbs().finditer(line)
             if m.lastgroup and m.start() in places]
    if not verbs:
        return ()
    borders = _borders(said, [(at, _last(places, m.end())) for _, at, m in verbs])
    made: list[Act] = []
    taken = 0
    for (what, at, _), (low, high) in zip(verbs, borders, strict=True):
        mine = [s for s in said.spoken if low <= s.amount.start < high and s.roles.get("noise", 0.0) <= 0.9]
        if what == "more":  # "flushed 40 at ten and another 40 at two"
            if not made:
                return ()
            what = made[-1].what
        act = _act(what, at, mine, said, made[-1] if made else None, (low, high))
        if act is None:
            return ()
        made.append(act)
        taken += len(mine)
    wanted = [s for s in said.spoken if s.roles.get("noise", 0.0) <= 0.9]
    return tuple(made) if taken == len(wanted) else ()


def _last(places: list[int], end: int) -> int:
    return sum(place < end for place in places)


def _borders(said: Said, spans: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The words that belong to each act: up to the last joining word, or the first stop, before the next act."""
    tokens, borders, low = said.heard.tokens, [], 0
    inside = {i for s in said.spoken for i in range(s.amount.start, s.amount.end)}
    for (_, end), following in zip(spans, [*spans[1:], None], strict=True):
        if following is None:
            borders.append((low, len(tokens)))
            break
        between = [i for i in range(end, following[0]) if i not in inside]
        stop = next((i for i in between if tokens[i] in STOPS), None)
        joined = next((i for i in reversed(between) if tokens[i] in JOINERS), None)
        high = stop if stop is not None else joined if joined is not None else following[0]
        borders.append((low, high))
        low = high
    return borders


def _act(what: str, at: int, mine: list[Spoken], said: Said, before: Act | None, span: tuple[int, int]) -> Act | None:
    """One act with its numbers; None where one of them has no place in it."""
    words = table("acts_en")["words"]
    tokens = said.heard.tokens
    act = Act(what, for_good=_has(said, words["for_good"], span), now=_has(said, words["now"], span))
    for spoken in sorted(mine, key=lambda s: (s.amount.start < at, s.amount.start)):
        amount, first = spoken.amount, spoken.amount.readings[0]
        lead = tokens[amount.start - 1] if amount.start else ""
        after = tokens[amount.end] if amount.end < len(tokens) else ""
        clock = spoken.reading("clock") or (_hour(amount) if act.clock is None else None)
        if first.kind == "day":
            act = replace(act, day=str(first.value))
        elif amount.upper is not None:
            until = _upper(amount)
            if what not in ("off", "pause") or act.clock is not None or clock is None or until is None:
                return None
            act = replace(act, clock=clock, until=until)
        elif clock is not None and after in ("feed", "one", "bolus"):
            continue  # "the midday one": its name
        elif first.kind == "time" and after in ("late", "early"):
            continue  # beside the time itself: "an hour late tonight, 9.30"
        elif first.kind == "time" and what in ("pause", "off") and act.lasted is None and "ago" not in after:
            act = replace(act, lasted=first)
        elif first.kind == "count" and what == "pour" and act.volume is None:
            act = replace(act, volume=first)
        elif first.kind == "volume" or (first.kind == "number" and what in ("flush", "pour") and act.volume is None
                                        and lead not in ("at", "by")):
            if act.volume is not None:
                return None
            act = replace(act, volume=_millilitres(spoken))
        elif first.kind == "rate" or (first.kind == "number" and act.rate is None and (
                (what == "rate" and lead == "to") or (what in ("on", "start", "resume") and lead == "at"
                                                      and act.clock is not None))):
            act = replace(act, rate=first if first.kind == "rate" else Reading("rate", first.value, "mL/h"))
        elif clock is not None and act.clock is None and not (lead in words["until"] and what in ("off", "pause")):
            act = replace(act, clock=clock)
        elif clock is not None and what in ("off", "pause") and act.until is None:
            act = replace(act, until=clock)
        elif clock is not None and isinstance(act.until, Reading) and act.clock and lead in words["until"]:
            to_hour = _to_the_hour(act.clock, act.until)  # "from ten to midnight until twenty past"
            if to_hour is None:
                return None
            act = replace(act, clock=to_hour, until=clock)
        else:
            return None
    if act.clock is None and before is not None and (what == "vomit" or _has(said, words["then"], span)):
        act = replace(act, clock=before.clock, day=before.day)
    if what in ("off", "pause") and act.clock and _has(said, ["until now", "till now", "til now", "up to now"], span):
        clock = _to_the_hour(act.clock, act.until) if isinstance(act.until, Reading) else act.clock
        return replace(act, clock=clock, until="now") if clock is not None else None
    return act


def _to_the_hour(minutes: Reading, hour: Reading) -> Reading | None:
    """ "From ten to one until now": ten minutes before one."""
    before, after = int(minutes.value) // 60, int(hour.value)
    if minutes.value % 60 or hour.value % 60 or before not in (5, 10, 20, 25):
        return None
    return Reading("clock", (after - before) % 720, "12h")


def _millilitres(spoken: Spoken) -> Reading:
    first = spoken.amount.readings[0]
    return first if first.kind == "volume" else Reading("volume", first.value, "mL")


def _has(said: Said, phrases: list[str], span: tuple[int, int]) -> bool:
    text = " ".join(said.heard.tokens[span[0] : span[1]])
    return any(re.search(rf"(?<![\w']){re.escape(p)}(?![\w'])", text) for p in phrases)
