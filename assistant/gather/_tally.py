"""A day told feed by feed: "skipped lunch, tea went in, 150 of the night". What went in of each, and all together."""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import pairwise
from typing import NamedTuple

from assistant.hear import hear
from assistant.household.care_plan import Feed
from assistant.message import Amount, Reading
from assistant.night import EVENING, feed_volume
from assistant.numbers.number_pairs import beside
from assistant.numbers.other_events import of_a_time_gone
from assistant.numbers.wants import Ask, Used, measure, size_of
from assistant.slots import Slots
from knowledge.library import table
from rules.quantity import Quantity, qty

PARTS = re.compile(
    r"[,.;?!:\n]\s*|\s+(?:and|but|then|plus|while|&|\+)\s+|\s+(?=(?:how (?:much|many)|what(?:'?s)?|which) )"
)
NONE = re.compile(
    r"\b(?:skip\w*|miss\w*|refus\w*|bin(?:ned)?|forgot\w*|without|except|apart from|didn'?t|never|none|nothing|no|not"
    r"|nil|dropp\w*|cancel\w*|left out|turned (?:her|his|my|their) (?:face|head|nose)|let (?:her|him|them) be"
    r"|ain'?t|isn'?t|hasn'?t|yet to|to come|coming (?:up|later)|still (?:ahead|due|to)|later on|due (?:at|later|in|yet)"
    r"|won'?t|will|'?ll|going to|gonna|g[ai]ven? up|giving up|let (?:it|that one) go|did without|went without"
    r"|wouldn'?t|couldn'?t|pushed (?:it|us) away|gave it a miss|sent (?:it )?back|not interested)\b"
)
ALL = re.compile(
    r"\b(?:all|every (?:last )?drop|to the last drop"
    r"|whole|full|finished|everything|complete\w*|went in|gone in|went down|in full|the lot|done|as usual)\b"
)
VAGUE = re.compile(
    r"\b(?:some|part|bits?|most|much|a little|a few|chunk|more|less|half|nearly|almost|about|roughly) (?:of|all|a)\b"
)
ASKS = re.compile(r"\b(?:how|what|which|when|does|will|if)\b")
FURTHER = re.compile(r"\b(?:bit|rest|more|extra|another|later|then|again|top|last|odd)\b")
REFUSED = re.compile(
    r"\b(?:refus\w*|skip\w*|turned (?:her|his|my|their) (?:face|head|nose)|let (?:her|him|them) be"
    r"|pushed (?:it|us) away|(?:wouldn'?t|didn'?t|couldn'?t) (?:have|take|want|touch|manage)|gave it a miss"
    r"|sent (?:it )?back|not interested)\b"
)
UNFED = re.compile(r"\b(?:left|leaves|leaving|refused|wasted|short)$")
NO_BOTHER = re.compile(r"\bno (?:bother|problems?|trouble|fuss|hassle|worries|issues?|bovver|probs?|dramas?)\b")
SOMEBODY = re.compile(r"\b(?:i|we|he|she|they|it|you|who|\w+'(?:s|ve|d|ll))\b")
AT_A_MEAL = re.compile(r"\b(?:at|by) (?=[a-z])")
THIS_TIME = re.compile(r"\bthis (morning|lunchtime|dinnertime|afternoon|teatime|evening)\b")
LAST_NIGHT = re.compile(r"\b(?:last night'?s|the night one)\b")
HUNDREDS = 3  # digits
LEAST = 20  # a smaller bare number is no amount of a feed


class Told(NamedTuple):
    """What one part of the message tells of a feed; None: its name alone."""

    feed: Feed
    given: Quantity | None


def tally(slots: Slots) -> Quantity | None:
    """All that went in by a telling of at least two feeds; None where there is none. Asks where a part is vague."""
    told: list[Told] = []
    taken: list[str] = []
    stray: list[str] = []
    parts = [(part, _feeds(part, slots)) for part in _parts(slots)
             if not ASKS.search(part) and not beside("day_before").search(part)]  # "yesterday she had it all"
    if len({feed.name for _, feeds in parts for feed in feeds}) < 2:
        return row_of_amounts(slots)
    for part, feeds in parts:
        if len(feeds) == 1:
            told.append(Told(feeds[0], _given(part, feeds[0], slots, taken)))
        elif feeds:
            told += [Told(feed, None) for feed in feeds]
        elif told and told[-1].given is None and REFUSED.search(part):
            told[-1] = Told(told[-1].feed, qty(0, "mL"))  # "then supper came round and she turned her face away"
        elif told and (more := _given(part, told[-1].feed, slots, taken, further=True)) is not None:
            before = told[-1].given
            if before is not None and not FURTHER.search(part):
                raise Ask("volume", code="how_much_in")  # a second amount of the same feed: more of it, or another?
            told[-1] = Told(told[-1].feed, more if before is None else (before + more).to("mL"))
        elif not told:
            stray += [a.text for a in hear(part).amounts if _is_amount(a)]
    names = {t.feed.name for t in told}
    if len(names) < 2 or len(names) != len(told) or all(t.given is None for t in told):
        return None
    if stray:  # "300 first thing, 220 at lunch, the full 350 in the evening": of which feed is the first?
        raise Ask("which_number", code="unclaimed", numbers=", ".join(stray))
    total = qty(0, "mL")
    for one in told:
        given = one.given if one.given is not None else feed_volume(one.feed)
        if given is None:
            raise Ask("volume", code="how_much_in")
        total = (total + given).to("mL")
    _claim(slots, taken)
    slots.used["given"] = Used(total, "question", ", ".join(taken))
    return total


ROW = re.compile(r"(?:(?:,|and|then|plus|&|\+|ml|mls|mil|mils|\([^()]*\)) ?)+")
FEWEST = 3


def row_of_amounts(slots: Slots) -> Quantity | None:
    """ "110, 110, 60, 110 and 170": amounts one after the other, nothing said between; what they come to together."""
    tokens = slots.said.heard.tokens
    told = [s for s in slots.said.spoken if _is_amount(s.amount) and s.amount.readings[0].kind in ("number", "volume")]
    joined = all(
        ROW.fullmatch(" ".join((*tokens[one.amount.end : other.amount.start], "")))
        for one, other in pairwise(told)
    )
    at_feeds = [
        s for s in told
        if s.roles.get("at_a_feed", 0.0) > 0.0 and not of_a_time_gone(slots.said.heard, s.amount)  # "was 145 last week"
    ]
    if (len(told) < FEWEST or not joined) and len(at_feeds) < 2:
        return None
    told = told if len(told) >= FEWEST and joined else at_feeds  # "180 in the first, and the other was 220"
    total = qty(0, "mL")
    for one in told:
        total = (total + measure("volume", one.amount.readings[0], slots.night)).to("mL")
        name, value = f"volume_{one.amount.start}", measure("volume", one.amount.readings[0], slots.night)
        slots.spoken[name], slots.used[name] = one, Used(value, "question", one.amount.text)
    slots.used["given"] = Used(total, "question")
    return total


def _parts(slots: Slots) -> list[str]:
    """The message in pieces, none of them breaking up a number ("a hundred and forty")."""
    text, found, first, at = slots.said.lower, [], 0, 0
    spans = []
    for amount in slots.said.heard.amounts:
        begins = text.find(amount.text.lower(), at)
        spans.append((begins, at := begins + len(amount.text)))
    for stop in PARTS.finditer(text):
        if not any(begins < stop.end() and stop.start() < ends for begins, ends in spans):
            found.append(text[first : stop.start()])
            first = stop.end()
    return [*found, text[first:]]


def _only_named(part: str, feed: Feed) -> bool:
    """Does a part name a feed, with no word beside it but that it was given?"""
    rest = re.sub(rf"\b{re.escape(feed.name.lower())}(?:time|'s)?\b", " ", part)
    for name, called in table("feed_names_en").items():
        forms = "|".join(re.escape(form) for form in (name, *called.get("also", ())))
        rest = re.sub(rf"\b(?:{forms})(?:time|'s)?\b", " ", rest)
    return beside("only_went_in").fullmatch(rest) is not None


def _feeds(part: str, slots: Slots) -> tuple[Feed, ...]:
    named = slots.night.feeds_named(part) or slots.night.feeds_named(AT_A_MEAL.sub("for ", part))  # "220 at lunch"
    if not named and THIS_TIME.search(part) and any(map(_is_amount, hear(part).amounts)):
        named = slots.night.feeds_named(THIS_TIME.sub(r"the \1 feed", part))  # "300 this morning"
    if named:
        return named
    if LAST_NIGHT.search(part):  # "the whole of last night's"
        late = tuple(f for f in slots.night.feeds if f.start is not None and f.start.hour >= EVENING)
        if len(late) == 1:
            return late
    clocks = [r for a in hear(part).amounts for r in a.readings[:1] if r.kind == "clock"]
    minutes = {c.value % 720 for c in clocks}
    return tuple(f for f in slots.night.feeds if f.start and (f.start.hour * 60 + f.start.minute) % 720 in minutes)


def _given(part: str, feed: Feed, slots: Slots, taken: list[str], *, further: bool = False) -> Quantity | None:
    """What a part says went in of a feed: none of it, an amount, a share, so many syringes, or the whole."""
    whole, heard = feed_volume(feed), hear(part)
    amounts = [a for a in heard.amounts if _is_amount(a)]
    if len(amounts) == 2 and _of_the_whole(heard.tokens, *amounts):
        taken.append(amounts.pop().text)  # "150 of the 250 in"
    elif len(amounts) == 2 and _part_after_whole(heard.tokens, *amounts):
        taken.append(amounts.pop(0).text)
    if len(amounts) > 1:
        raise Ask("volume", code="how_much_in")
    if not amounts:
        if further:
            return None
        if VAGUE.search(part) and not re.search(r"\ball of\b", part):
            raise Ask("volume", code="how_much_in")
        if NONE.search(NO_BOTHER.sub("", part)):
            return qty(0, "mL")
        if not ALL.search(part) and not further and SOMEBODY.search(part) and not _only_named(part, feed):
            raise Ask("volume", code="how_much_in")  # "he saw the doctor before dinner": no telling of it
        return whole if ALL.search(part) else None
    amount = amounts[0]
    reading = _told(amount)
    if reading.kind in ("share", "percent"):
        if whole is None:
            raise Ask("volume", code="how_much_in")
        given = (whole * Decimal(reading.value) / (100 if reading.kind == "percent" else 1)).to("mL")
    elif reading.kind == "count":
        size = size_of("syringe", slots.night)
        if size is None or reading.unit != "syringe":
            raise Ask("volume", code="how_much_in")
        given = (size * Decimal(reading.value)).to("mL")
    else:
        given = measure("volume", reading, slots.night)
    before = " ".join(heard.tokens[: amount.start])
    if UNFED.search(before) and whole is not None:
        given = (whole - given).to("mL")
    if whole is not None and (given > whole or given < qty(0, "mL")):
        raise Ask("which_number", code="unclaimed", numbers=amount.text)
    taken.append(amount.text)
    return given


def _of_the_whole(tokens: tuple[str, ...], one: Amount, whole: Amount) -> bool:
    first, last = one.readings[0], whole.readings[0]
    alike = {first.kind, last.kind} <= {"number", "volume"} and first.value <= last.value
    between = " ".join(tokens[one.end : whole.start])
    return alike and bool(OF_WHOLE.fullmatch(between))


OF_WHOLE = re.compile(r"(?:out )?of(?: the| his| her| my| their| its| that)?")
OUT_OF = re.compile(r"\b(?:out )?of (?:the|that|his|her|my|their|those)(?: \w+){0,2}$")


def _part_after_whole(tokens: tuple[str, ...], whole: Amount, one: Amount) -> bool:
    """ "Out of the noon 350 I'd say 200 went in": the whole is told first."""
    first, last = whole.readings[0], one.readings[0]
    alike = {first.kind, last.kind} <= {"number", "volume"} and last.value <= first.value
    return alike and bool(OUT_OF.search(" ".join(tokens[: whole.start])))


def _told(amount: Amount) -> Reading:
    """What it says of an amount: "300 this morning" is no three o'clock."""
    first, bare = amount.readings[0], next((r for r in amount.readings if r.kind == "number"), None)
    hundreds = amount.text.isdecimal() and len(amount.text) == HUNDREDS and not amount.text.startswith("0")
    return bare if first.kind == "clock" and hundreds and bare is not None else first


def _is_amount(amount: Amount) -> bool:
    first = _told(amount)
    counted = first.kind == "count" and first.unit == "syringe"
    return counted or first.kind in ("volume", "share", "percent") or (first.kind == "number" and first.value >= LEAST)


def _claim(slots: Slots, taken: list[str]) -> None:
    """The numbers that the tally took, and the hours by which feeds were named."""
    left = [t.lower() for t in taken]
    for spoken in slots.said.spoken:
        if spoken.amount.text.lower() in left or spoken.reading("clock"):
            slots.spoken[f"told_{spoken.amount.start}"] = spoken
            if spoken.amount.text.lower() in left:
                left.remove(spoken.amount.text.lower())
