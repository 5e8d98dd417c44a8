"""What each number in the message is about: its role (rate, left, given, start, finish ...), from the words beside it.

The words that speak for a role are data: knowledge/roles_en.toml. Nothing here computes or decides; it only ranks.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache, lru_cache

from assistant.cues import kinds_of, roles_of
from assistant.message import Amount, Heard, Reading
from assistant.number_pairs import (
    LEFT,
    MOST_AN_HOUR,
    OF_IT,
    OF_WHOLE,
    an_hour_now,
    an_hour_or_so,
    beside,
    corrected,
    in_its_unit,
    is_age,
    is_chore,
    is_unit_asked_for,
    is_year,
    more_than_an_hour,
    not_meant,
    part_of_a_whole,
    plainly_told,
    says_now,
)
from assistant.other_events import (
    in_another_story,
    of_an_age,
    of_an_event,
    of_another_time,
    of_other_people,
    of_the_clocks,
)
from assistant.others_hours import give_way
from knowledge.library import table

HINTED, WEIGHED = 0.5, 1.0
REACH = 6  # words on each side that can speak for a number
DATED = ("day", "date")
STOPS = frozenset({".", "?", "!", ";", ":", "(", ")", "\n"})


@dataclass(frozen=True)
class Spoken:
    """One amount with the words before and after it, and how strongly each role is spoken for."""

    amount: Amount
    before: str
    after: str
    roles: dict[str, float]

    def reading(self, *kinds: str) -> Reading | None:
        """The first reading of one of the kinds, in the order in which the hearing offered them."""
        return next((r for r in self.amount.readings if r.kind in kinds), None)


@dataclass(frozen=True)
class Said:
    heard: Heard
    spoken: tuple[Spoken, ...]

    @property
    def lower(self) -> str:
        return self.heard.text.lower()

    def has(self, *phrases: str) -> bool:
        """Does one of the phrases stand in the message, word by word?"""
        return any(_words(phrase).search(self.lower) for phrase in phrases)


@cache  # there are more of them than the library keeps compiled
def _words(phrase: str) -> re.Pattern[str]:
    return re.compile(rf"(?<![\w'])(?:{phrase})(?![\w'])")


@cache
def _pattern(name: str) -> re.Pattern[str]:
    return re.compile(table("turns_en")["patterns"][name], re.IGNORECASE)


def _beside(
    tokens: tuple[str, ...], first: int, last: int, low: int, high: int, days: frozenset[int]
) -> tuple[str, str]:
    """The words before and after tokens[first:last], up to the neighbouring numbers (low, high) and stop marks.

    A day before it parts nothing: of "use it tomorrow at eleven" the words before eleven are "use it at".
    """
    left: list[str] = []
    for at in range(first - 1, low - 1, -1):
        if tokens[at] in STOPS or len(left) == REACH:
            break
        if at not in days:
            left.append(tokens[at])
    right = []
    for token in tokens[last : min(high, last + REACH)]:
        if token in STOPS:
            break
        right.append(token)
    return " ".join(t for t in reversed(left) if t != ","), " ".join(t for t in right if t != ",")


def _from_to(amount: Amount) -> list[Spoken]:
    """ "Run it 10 till 7": two clock times, where the words are about a stretch and not about minutes to an hour."""
    first = next((r for r in amount.readings if r.kind == "clock" and r.value % 60 == 0), None)
    assert amount.upper is not None
    if first is None or not 1 <= amount.upper <= 12:
        return [Spoken(amount, "", "", {})]
    last = Reading("clock", int(amount.upper) * 60, "12h")
    begins = Amount(amount.text, amount.start, amount.start + 1, (first,))
    ends = Amount(amount.text, amount.end - 1, amount.end, (last,))
    return [Spoken(begins, "from", "to", {"start": 2.0, "opened": 1.0}), Spoken(ends, "to", "", {"finish": 2.0})]


UNTIL = re.compile(r"\b(?:till?|until)\b", re.IGNORECASE)


def _is_range(first: Spoken, amount: Amount, between: str) -> bool:
    """ "Between 21:30 and 07:00", "23:45-07:45": from one time of day to another."""
    joined = between in ("-", "–", "→") or (between == "and" and first.before.endswith("between"))
    clocks = all(a.readings[0].kind == "clock" for a in (first.amount, amount))
    return joined and clocks and first.roles.get("finish", 0.0) < 0.9 and not _is_noise(first)


def _is_noise(spoken: Spoken) -> bool:
    return spoken.roles.get("noise", 0.0) > 0.9


OF_A_WEIGHT = re.compile(r"\b(?:kilos?|kgs?|weigh\w*|stone|pounds|lbs?)\b", re.IGNORECASE)
UP_TO = re.compile(r"(?:mls? )?(?:an hour |per hour )?(?:up |down |on |over )?to")
FROM_RATE = re.compile(
    r"\b(?:bump|nudg|rais|lift|step|turn|put|mov|tak|drop|lower|reduc|slow|cut|bring|go|went|chang|increas|tick|up)\w*"
    r"(?: (?!from)[\w']+){0,3} from(?: about| the)?$"
)


def _as_a_rate(amount: Amount) -> bool:
    first = amount.readings[0]
    return first.kind == "rate" or (first.kind == "number" and first.value > MOST_AN_HOUR)


def _by_the_clock(heard: Heard, amount: Amount, roles: dict[str, float], before: str) -> None:
    """A time of day that is now, another event's, or the hour at which the rate was changed."""
    if amount.readings[0].kind in ("day", "date") and beside("end_asked").search(before):
        roles["end_asked"] = 2.0  # "what time is he done tomorrow": the day is the end's
    elif beside("own_day").search(before):
        roles["noise"] = 2.0  # "I've been up since five"
    elif beside("not_until").search(before) and beside("not_until_ends").search(" ".join(heard.tokens)):
        roles |= {"start": 2.0, "finish": 0.0}  # "if I don't get him on till nine, when's he done?"
    elif says_now(heard, amount, before):
        roles |= {"clock_now": 2.0, "start": 0.0, "opened": 0.0, "finish": 0.0}
    elif "clock" in kinds_of(amount) and beside("held_against").search(before):
        roles |= {"held_against": 2.0} | dict.fromkeys(("start", "opened", "last_done", "rate"), 0.0)  # "ok at eleven?"
    elif an_hour_now(heard, amount, before):
        roles["clock_now"] = HINTED
    elif amount.readings[0].kind in DATED and of_the_clocks(heard, amount):
        roles["of_clocks"] = 2.0
    elif beside("changed_at").search(before) and amount.readings[0].kind in ("clock", "number"):
        roles |= {"changed": 2.0, "rate": 0.0, "start": 0.0}
    elif of_an_event(heard, amount):
        roles |= {"finish": 2.0, "start": 0.0, "noise": 0.0, "then": 1.0} if beside("by_then").search(heard.text) else {"event": 1.0}


def _not_of_the_feed(heard: Heard, amount: Amount, before: str, after: str, more: int) -> bool:
    """A year, an age, another's number, "two hours of cartoons", "40 minutes in traffic"; `more`: how many are told."""
    an_age = more > 1 and of_an_age(amount, before) and not OF_A_WEIGHT.search(heard.text)
    if an_age or is_year(amount, before) or (more > 2 and is_age(amount, before)):
        return True
    if amount.readings[0].kind == "time" and beside("of_other_doings").search(after):
        return True
    if FROM_RATE.search(before) and not UP_TO.match(after) and more_than_an_hour(amount):
        return True  # "they bumped it from 1500": what it was before
    elsewhere = an_hour_or_so(amount) and in_another_story(heard, amount)
    return elsewhere or of_other_people(heard, amount, before) or of_another_time(heard, amount)


def _after_another(
    last: Spoken, amount: Amount, before: str, after: str, roles: dict[str, float], *, adjoining: bool
) -> None:
    """What the number before says of this one, and this one of it."""
    if before in ("at", "from", "since") and beside("changed_to").search(last.before):
        roles |= {"changed": 2.0, "start": 0.0, "finish": 0.0, "ended": 0.0}  # "it went to 36 at ten"
    if OF_WHOLE.fullmatch(before) and part_of_a_whole(last.amount, amount):
        roles |= {"total": 2.0, "given": 0.0, "left": 0.0}  # "312 of 648 in"
        last.roles["left" if LEFT.match(after) else "given"] = 1.5
    if before in ("to", "till", "until") and _is_noise(last):
        roles["noise"] = 2.0  # "the clocks skip from 2 to 3": both numbers are the clocks'
    if not before and _is_noise(last) and adjoining:
        roles["noise"] = 2.0  # "my number is 021 555 0188"
    if before in ("on", "on the") and kinds_of(amount) <= {"day", "date"} and _is_noise(last):
        roles["noise"] = 2.0  # "turned seventy on the third": the day is the birthday's
    if _is_range(last, amount, before):
        last.roles["start"], roles["finish"] = 2.0, 2.0
    if before in ("in", "over", "into") and amount.readings[0].kind == "time":
        last.roles["total"] = max(1.0, last.roles.get("total", 0.0))  # "two hundred in two hours"
    if before == "from" and last.before.endswith("to"):
        roles["noise"] = 2.0  # "down to 50 from 65": what it was before
    if UP_TO.fullmatch(before) and FROM_RATE.search(last.before) and _as_a_rate(last.amount):
        last.roles["noise"] = 2.0  # "bump her from 72 to 80"


@lru_cache(maxsize=64)  # the parts, the question and the action all look at the same words
def said(heard: Heard) -> Said:
    """Give each number of `heard` its roles; a number that was taken back at once is left out."""
    spoken: list[Spoken] = []
    gone = corrected(heard)
    dated = [a for a in heard.amounts if a.readings[0].kind in DATED]
    days = frozenset(at for a in dated for at in range(a.start, a.end))
    for i, amount in enumerate(heard.amounts):
        if i in gone:
            continue
        if amount.upper is not None and (_pattern("stretch").search(heard.text) or UNTIL.search(amount.text)):
            spoken += _from_to(amount)
            led = " ".join(heard.tokens[max(0, amount.start - REACH) : amount.start])
            if led.endswith("instead of") or beside("own_hours").search(led):  # "nap was 2 till 3"
                for one in spoken[-2:]:
                    one.roles["noise"] = 2.0  # "instead of eight till two"
            continue
        parted = (a for a in heard.amounts[:i] if amount in dated or a not in dated)
        low = max((a.end for a in parted), default=0)
        high = heard.amounts[i + 1].start if i + 1 < len(heard.amounts) else len(heard.tokens)
        before, after = _beside(heard.tokens, amount.start, amount.end, low, high, days)
        if i - 1 in gone and not roles_of(amount, before, after).get("start"):
            of = next(a for j, a in enumerate(heard.amounts) if j < i and all(k in gone for k in range(j, i)))
            before = _beside(heard.tokens, of.start, of.end, 0, high, days)[0] or before  # "started at ten no wait ..."
        if spoken and OF_IT.fullmatch(before) and (same := in_its_unit(spoken[-1].amount, amount)) is not None:
            earlier = spoken.pop()
            spoken.append(Spoken(same, earlier.before, earlier.after, {**earlier.roles, "given": 1.5}))
        if is_unit_asked_for(amount, before):
            continue
        roles = roles_of(amount, before, after)
        more = len(heard.amounts) - len(dated)
        others = tuple(a for j, a in enumerate(heard.amounts) if j != i and j not in gone)
        if _not_of_the_feed(heard, amount, before, after, more) or not_meant(before, after, kinds_of(amount), others):
            roles["noise"] = 2.0
        if amount.readings[0].kind in ("volume", "number") and after.startswith("gone"):
            roles |= {"given": 2.0, "left": 0.0}  # "225 gone already"; of a share the rest is meant: "half gone"
        if is_chore(amount, before, after):
            roles["chore"] = 2.0
        roles |= plainly_told(amount, before, after)
        if roles.get("weight", 0.0) >= WEIGHED:
            roles = {"weight": roles["weight"], "noise": roles.get("noise", 0.0)}  # "he weighed 61": nothing else
        _by_the_clock(heard, amount, roles, before)
        if spoken:
            _after_another(spoken[-1], amount, before, after, roles, adjoining=heard.amounts[i - 1].end == amount.start)
        spoken.append(Spoken(amount, before, after, roles))
    give_way(spoken)
    return Said(heard, tuple(spoken))
