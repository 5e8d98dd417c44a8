"""Acts told by what was told before: with the answer to what was asked back, beside a feed of the log, "ago"."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import timedelta

from assistant.follow.turns import pattern
from assistant.hear import hear, resolve
from assistant.message import Reading
from assistant.numbers.said import Said, Spoken, said
from assistant.told.act_times import length_of, untimed
from assistant.told.acts import act_named, acts_told
from assistant.told.acts_fit import Act
from knowledge.library import table
from rules.feed_state import Event
from rules.quantity import Quantity, qty

BACK = ("ago", "earlier", "back", "before now")
HALTS, GOES = ("paused", "stopped"), ("feed_started", "resumed")
_WENT_ON = r"(?:she|he|it|they|i|we) (?:went|was|were|got|started|stopped|put)"
BESIDE_A_FEED = re.compile(rf"\b(?:before|after) (?:(?:the|his|her|my) feed|{_WENT_ON})\b")


def with_time(told: Said, answer: Said) -> str | None:
    """The words told with the time that was missing put beside its act; None where the answer is no time."""
    if beside := pattern("beside_an_event").search(told.lower):
        told = said(hear(told.lower[: beside.start()]))  # "set it going just before the film ended": at nine
    acts = acts_told(told)
    missing = untimed(acts)
    times = [s.amount.text for s in answer.spoken if s.reading("clock", "time", "number")]
    when = f"at {times[0]}" if len(times) == 1 else "now" if answer.has("now", "just now") and not times else None
    if when is None or (acts and len(missing) != 1):
        return None
    if answer.spoken and answer.spoken[0].reading("time"):
        when = f"{times[0]} {'ago' if answer.has(*BACK) else 'later'}"
    if not acts:  # "gave 200 at lunch": at half twelve
        return f"{told.heard.text.rstrip(' .!')} {when}"
    tokens, at = told.heard.tokens, acts[missing[0]].told
    return " ".join([*tokens[:at], when, *tokens[at:]])


def with_since(told: Said, answer: Said) -> str | None:
    """The rate told with the time since which it ran: an hour, now, or the words of the answer ("since the start")."""
    if not answer.spoken and not answer.has("now", "just now"):
        return f"{FOUND.sub('', told.heard.text).rstrip(' .!')} since the start"
    times = [s.amount.text for s in answer.spoken if s.reading("clock", "number")]
    when = f"at {times[0]}" if len(times) == 1 else "now" if not times else None
    return f"{FOUND.sub('', told.heard.text).rstrip(' .!')} {when}" if when is not None else None


FOUND = re.compile(r"\b(?:actually|turns out|by mistake|found it|just (?:seen|noticed|realised))\b ?,? ?")


def with_amount(told: Said, answer: Said) -> str | None:
    """The words told with how much of the feed went in; None where the answer is no amount."""
    if answer.has(*table("acts_en")["words"]["whole"], "all") and not answer.spoken:
        return f"{told.heard.text.rstrip(' .!')}, all of it"
    amounts = [s.amount.text for s in answer.spoken if s.reading("number", "volume")]
    return f"{told.heard.text.rstrip(' .!')}, {amounts[0]} went in" if len(amounts) == 1 else None


def says_again(answer: Said, doubted: Quantity) -> bool:
    """Is what was doubted said once more, or only a yes?"""
    return all(_is(spoken, doubted) for spoken in answer.spoken)


def with_number(told: Said, doubted: Quantity, answer: Said) -> str | None:
    """The words told with another number in place of the one that was doubted; None where that is not plain."""
    places = [s.amount for s in told.spoken if _is(s, doubted)]
    if len(places) != 1 or len(answer.spoken) != 1 or not answer.spoken[0].reading("number", "rate", "volume"):
        return None
    tokens, anew = told.heard.tokens, answer.spoken[0].amount.text
    return " ".join([*tokens[: places[0].start], anew, *tokens[places[0].end :]])


def _is(spoken: Spoken, amount: Quantity) -> bool:
    read = [(r.value, r.unit) for r in spoken.amount.readings if r.kind in ("volume", "rate")]
    bare = [(r.value, unit) for r in spoken.amount.readings if r.kind == "number" for unit in ("mL", "mL/h")]
    return any(qty(value, unit) == amount for value, unit in (*read, *bare))


def beside_the_feed(acts: tuple[Act, ...], told: Said, events: Iterable[Event]) -> tuple[Act, ...]:
    """ "Flushed 50 before and another 50 after": the start and the end of the feed that the log has last."""
    if any(act.what != "flush" or act.timed for act in acts) or not acts:
        return acts
    last = {e.kind: e.at for e in events if e.kind in ("feed_started", "stopped")}
    begun, ended = last.get("feed_started"), last.get("stopped")
    if len(acts) == 1 and not BESIDE_A_FEED.search(told.lower):
        return acts
    found: list[Act] = []
    for act in acts:
        before = set(told.heard.tokens[act.start : act.end]) & {"before", "beforehand", "first"}
        at = begun if before else ended if begun and ended and ended >= begun else None
        if at is None:
            return acts
        found.append(replace(act, clock=Reading("clock", at.hour * 60 + at.minute, "24h")))
    return tuple(found)


WHEN_WE = re.compile(r"\b(?:when|while|once|as) (?:i|we|he|she|it|they|mum|mam|mom|dad) (?:\w+ ){0,2}$")
AS_LOGGED = {"off": HALTS, "pause": HALTS, "stop": HALTS, "on": GOES, "start": GOES, "resume": GOES}


def as_logged(acts: tuple[Act, ...], told: Said, events: Iterable[Event]) -> tuple[Act, ...]:
    """ "Flushed her when I unhooked": of what the log has already, then its time; it is not written twice."""
    rest = [act for act in acts if not _by_the_way(act, told)]
    if len(rest) == len(acts) or not rest or any(act.timed for act in acts):
        return acts
    kinds = {kind for act in acts if act not in rest for kind in AS_LOGGED[act.what]}
    at = max((e.at for e in events if e.kind in kinds), default=None)
    if at is None:
        return acts
    return tuple(replace(act, clock=Reading("clock", at.hour * 60 + at.minute, "24h")) for act in rest)


def _by_the_way(act: Act, told: Said) -> bool:
    before = " ".join(told.heard.tokens[: act.start]).lower()
    return act.what in AS_LOGGED and WHEN_WE.search(f"{before} ") is not None


LAST = re.compile(
    r"\b(?:for|over|in) the (?:last|past) (?P<length>(?:[\w.]+ ){0,3}?(?:hours?|hrs?|minutes?|mins?))\b",
    re.IGNORECASE,
)


def for_the_last(told: Said) -> Said:
    """ "Put it up to 70 for the last hour": an hour ago; only of a rate, for a pause has a length of its own."""
    found = LAST.search(told.heard.text)
    if found is None or act_named(told) != "rate":
        return told
    length = found.group("length")
    length = f"an {length}" if length == "hour" else length
    return said(hear(f"{told.heard.text[: found.start()]}{length} ago{told.heard.text[found.end() :]}"))


OF_AN_ENTRY = {  # by which words an entry of the log is named, as that after or before which another act was done
    "resumed": r"went back on|came back on|was back on|back on|restart\w*|resum\w*|(?:went|was|started) on again",
    "paused": r"(?:the )?(?:pause|break)|paus\w*|went off|was off|came off",
    "stopped": r"stopp\w*|(?:the )?stop|finish\w*|ended",
    "feed_started": r"start\w*|(?:the )?start|went on|began",
}


BEFORE_IT = (r"before (?:it|that|the feed|he|she|it|we|i) ?(?:started|went on|began|was on)?", "beforehand")


def beside_an_entry(told: Said, events: Iterable[Event]) -> Said:
    """ "An hour after it went back on it was off for ten minutes": the hour of that entry of the log, and so long."""
    begun = max((e.at for e in events if e.kind == "feed_started"), default=None)
    hand = next((s for s in told.spoken if (r := s.reading("clock")) is not None and r.unit == "hand"), None)
    if hand is not None and begun is not None and told.has(*BEFORE_IT):  # "flushed 50 before it at five to"
        at, tokens = resolve(hand.amount.readings[0], begun, "past", None)[0], told.heard.tokens
        return said(hear(" ".join([*tokens[: hand.amount.start], f"{at:%H:%M}", *tokens[hand.amount.end :]])))
    for spoken in told.spoken:
        reading = spoken.reading("time")
        found = re.match(r"(after|before) (?:(?:it|she|he|they|we|i|the feed|the pump) )?(?:had )?", spoken.after)
        if reading is None or found is None:
            continue
        rest = spoken.after[found.end() :]
        kind = next((k for k, words in OF_AN_ENTRY.items() if re.match(rf"(?:{words})\b", rest)), None)
        last = max((e.at for e in events if e.kind == kind), default=None)
        named = re.match(rf"(?:{OF_AN_ENTRY[kind]})\b", rest) if kind is not None else None
        if last is None or named is None:
            continue
        at = last + length_of(reading) * (1 if found.group(1) == "after" else -1)
        tokens = told.heard.tokens
        ends = spoken.amount.end + len((spoken.after[: found.end()] + named.group()).split())
        return said(hear(" ".join([*tokens[: spoken.amount.start], f"at {at:%H:%M}", *tokens[ends:]])))
    return told


def so_long_ago(told: Said, before: Said) -> timedelta | None:
    """ "No, more like 10", after "20 minutes ago": so long ago, in the unit said first; None where it is not."""
    lengths = [s.reading("time") for s in before.spoken if s.reading("time")]
    numbers = [s.amount.readings[0] for s in told.spoken]
    if len(lengths) != 1 or lengths[0] is None or not before.has(*BACK) or len(numbers) != 1:
        return None
    if numbers[0].kind == "time":
        return length_of(numbers[0])
    led = told.heard.tokens[max(0, told.spoken[0].amount.start - 1) : told.spoken[0].amount.start]
    if numbers[0].kind != "number" or led in (("at",), ("to",), ("was",)):
        return None
    return length_of(Reading("time", numbers[0].value, lengths[0].unit))
