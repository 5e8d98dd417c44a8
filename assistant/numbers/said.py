"""What each number in the message is about: its role (rate, left, given, start, finish ...), from the words beside it.

The words that speak for a role are data: knowledge/roles_en.toml. Nothing here computes or decides; it only ranks.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache

from assistant.clauses.false_starts import ROLE, false_starts
from assistant.clauses.own_sentence import stands_aside
from assistant.message import Amount, Heard, Reading
from assistant.numbers.by_neighbours import after_another, give_way
from assistant.numbers.cues import kinds_of, roles_of
from assistant.numbers.number_pairs import (
    OF_IT,
    an_hour_now,
    an_hour_or_so,
    beside,
    corrected,
    in_its_unit,
    in_the_same_half,
    is_age,
    is_chore,
    is_unit_asked_for,
    is_year,
    more_than_an_hour,
    not_meant,
    plainly_told,
    says_now,
)
from assistant.numbers.other_events import (
    at_a_change,
    in_another_story,
    in_brackets,
    of_a_body_heat,
    of_an_age,
    of_an_event,
    of_another_reading,
    of_another_time,
    of_other_people,
    of_the_clocks,
    water_given,
)
from assistant.numbers.spoken import Said, Spoken
from assistant.numbers.weighed_roles import weigh
from knowledge.library import table

__all__ = ["Said", "Spoken", "said"]

HINTED, WEIGHED = 0.5, 1.0
REACH = 6  # words on each side that can speak for a number
DATED = ("day", "date")
APART = {"noise": 2.0, "apart": 2.0}  # of something else, whatever it sounds like
WARM = (10, 45)  # degrees of a room
STOPS = frozenset({".", "?", "!", ";", ":", "(", ")", "\n"})


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


OF_A_WEIGHT = re.compile(r"\b(?:kilos?|kgs?|weigh\w*|stone|pounds|lbs?)\b", re.IGNORECASE)
def _by_the_clock(heard: Heard, amount: Amount, roles: dict[str, float], before: str) -> None:
    """A time of day that is now, another event's, or the hour at which the rate was changed."""
    after = " ".join(heard.tokens[amount.end : amount.end + REACH])
    of_its_end = beside("end_asked_of").search(before) and beside("ends_then").match(after)
    if amount.readings[0].kind in ("day", "date") and (beside("end_asked").search(before) or of_its_end):
        roles["end_asked"] = 2.0  # "what time is he done tomorrow": the day is the end's
    elif beside("own_day").search(before):
        roles["noise"] = 2.0  # "I've been up since five"
    elif beside("answer_by").search(before):
        roles |= APART
    elif beside("not_until").search(before) and beside("not_until_ends").search(" ".join(heard.tokens)):
        roles |= {"start": 2.0, "finish": 0.0, "not_until": 2.0}  # "if I don't get him on till nine, when's he done?"
    elif beside("till_something_at").search(before) and "clock" in kinds_of(amount):
        roles |= {"finish": 2.0, "start": 0.0, "opened": 0.0}  # "till I'm up with the baby at one"
    elif says_now(heard, amount, before):
        roles |= {"clock_now": 2.0, "start": 0.0, "opened": 0.0, "finish": 0.0}
    elif "clock" in kinds_of(amount) and beside("held_against").search(before):
        roles |= {"held_against": 2.0} | dict.fromkeys(("start", "opened", "last_done", "rate"), 0.0)  # "ok at eleven?"
    elif an_hour_now(heard, amount, before):
        roles["clock_now"] = HINTED
    elif amount.readings[0].kind in DATED and of_the_clocks(heard, amount):
        roles["of_clocks"] = 2.0
    elif at_a_change(before) and amount.readings[0].kind in ("clock", "number"):
        roles |= {"changed": 2.0} | dict.fromkeys(("rate", "start", "finish", "ended"), 0.0)
    elif "clock" in kinds_of(amount) and beside("end_wanted").search(before):
        roles |= {"finish": 2.0, **dict.fromkeys(("noise", "total", "rate", "start"), 0.0)}  # "must be free by 8"
    elif of_an_event(heard, amount) or ("clock" in kinds_of(amount) and beside("leaves_home").search(before)):
        by_then = beside("by_then").search(heard.text) or beside("before_they_come").search(heard.text)
        roles |= {"finish": 2.0, "start": 0.0, "noise": 0.0, "then": 1.0} if by_then else {"event": 1.0}


def _counts_a_group(amount: Amount) -> bool:
    return amount.readings[0].kind in ("number", "count")


NOONS = frozenset({"noon", "midday", "midnight"})
A_FEED = ("one", "feed", "milk", "bag", "bottle", "bolus", "lot", "drip", "syringe", "dose", "formula")
VAGUE = re.compile(r"\b(?:something|summat)\b", re.IGNORECASE)


def _not_of_the_feed(heard: Heard, amount: Amount, before: str, after: str, more: int) -> bool:
    """A year, an age, another's number, "two hours of cartoons", "40 minutes in traffic"; `more`: how many are told."""
    an_age = more > 1 and of_an_age(amount, before) and not OF_A_WEIGHT.search(heard.text)
    if an_age or is_year(amount, before) or (more > 2 and is_age(amount, before)):
        return True
    if amount.text.lower() in NOONS and after.startswith(A_FEED):
        return True  # "I poured the noon one", "begin the midday feed"
    if beside("of_food_after").match(after) or VAGUE.search(amount.text):
        return True  # "three spoons of yogurt"; "100 and something in by now?": how much is not said
    of_before = amount.readings[0].kind == "mass" and more > 1 and beside("was_before").search(before)
    if of_before and beside("now_told").search(heard.text):
        return True  # "he was 20 kilo in the summer, he's 22 now"
    first = amount.readings[0]
    warm = first.kind == "number" and WARM[0] <= first.value <= WARM[1] and beside("how_warm").search(before)
    if (first.kind == "temperature" and beside("of_a_room").match(after)) or (
        warm and beside("in_a_bedroom").match(after)
    ):
        return True
    if amount.readings[0].kind == "time" and beside("of_other_doings").search(after):
        return True
    if amount.readings[0].unit == "night" and amount.readings[0].value == 1 and (
        beside("one_night_only").search(before) or after.startswith("only")
    ):
        return True  # "80 for this one night only": no length of a feed
    if beside("other_owner").search(before) or (_counts_a_group(amount) and beside("of_a_group").match(after)):
        return True
    if amount.readings[0].kind == "number" and beside("a_label").search(before):
        return True  # "that's room 6"
    if beside("another_limit").search(before):
        return True  # "word limit 1500"
    if "clock" in kinds_of(amount) and beside("the_clocks_at").search(before):
        return True  # "the time changes at two"
    of_a_street = amount.readings[0].kind == "number" and beside("an_address").search(after)
    if of_a_street or beside("at_birth").search(before):
        return True  # "27 Mill Lane"; "born at 7 lb 2"
    if before.endswith(("up from", "down from")) and not beside("up_to").match(after):
        return True  # "25.5, up from 24"
    if beside("from_a_rate").search(before) and not beside("up_to").match(after) and more_than_an_hour(amount):
        return True  # "they bumped it from 1500": what it was before
    if (an_hour_or_so(amount) and in_another_story(heard, amount)) or of_a_body_heat(amount, before, after):
        return True
    return of_other_people(heard, amount, before) or of_another_time(heard, amount)


@lru_cache(maxsize=64)  # the parts, the question and the action all look at the same words
def said(heard: Heard) -> Said:
    """Give each number of `heard` its roles; a number that was taken back at once is left out."""
    return Said(heard, tuple(weigh(heard, by_words(heard))))


def by_words(heard: Heard) -> list[Spoken]:
    """The roles that the words beside each number speak for."""
    spoken: list[Spoken] = []
    gone, broken = corrected(heard), false_starts(heard)
    dated = [a for a in heard.amounts if a.readings[0].kind in DATED]
    days = frozenset(at for a in dated for at in range(a.start, a.end))
    for i, amount in enumerate(heard.amounts):
        if i in gone:
            continue
        led = " ".join(heard.tokens[max(0, amount.start - REACH) : amount.start])
        in_figures = led.endswith("going") and amount.text[:1].isdecimal()  # "not going 2 to 2.10", no "ten to five"
        if amount.upper is not None and (_pattern("stretch").search(led) or UNTIL.search(amount.text) or in_figures):
            spoken += _from_to(amount)
            if led.endswith("instead of") or beside("own_hours").search(led):  # "nap was 2 till 3"
                for one in spoken[-2:]:
                    one.roles["noise"] = 2.0  # "instead of eight till two"
            continue
        parted = (a for a in heard.amounts[:i] if amount in dated or a not in dated)
        low = max((a.end for a in parted), default=0)
        high = heard.amounts[i + 1].start if i + 1 < len(heard.amounts) else len(heard.tokens)
        before, after = _beside(heard.tokens, amount.start, amount.end, low, high, days)
        if i - 1 in gone | broken and not roles_of(amount, before, after).get("start"):
            of = next(a for j, a in enumerate(heard.amounts) if j < i and {*range(j, i)} <= gone | broken)
            before = _beside(heard.tokens, of.start, of.end, 0, high, days)[0] or before  # "started at ten no wait ..."
            amount = in_the_same_half(of, amount)
        if spoken and OF_IT.fullmatch(before) and (same := in_its_unit(spoken[-1].amount, amount)) is not None:
            earlier = spoken.pop()
            spoken.append(Spoken(same, earlier.before, earlier.after, {**earlier.roles, "given": 1.5}))
        if is_unit_asked_for(amount, before):
            continue
        roles = roles_of(amount, before, after)
        more = len(heard.amounts) - len(dated)
        others = tuple(a for j, a in enumerate(heard.amounts) if j != i and j not in gone)
        beside_it = _not_of_the_feed(heard, amount, before, after, more) or in_brackets(heard, amount, roles)
        weighed = amount.readings[0].kind == "mass" and _pattern("of_a_weight").search(heard.text)  # "... per kilo?"
        beside_it = beside_it or (stands_aside(heard, amount) and not weighed)
        if beside_it or not_meant(before, after, kinds_of(amount), others):
            roles["noise"] = 2.0
        if of_another_reading(heard, amount, after):
            roles |= APART
        if amount.readings[0].kind in ("volume", "number") and after.startswith("gone"):
            roles |= {"given": 2.0, "left": 0.0}  # "225 gone already"; of a share the rest is meant: "half gone"
        if is_chore(amount, before, after):
            roles["chore"] = 2.0
        roles |= plainly_told(amount, before, after)
        if water_given(heard, amount, before):
            roles |= {"flush": 2.0, "water_given": 2.0} | dict.fromkeys(("given", "left", "hung", "rate"), 0.0)
        if roles.get("weight", 0.0) >= WEIGHED and beside("weighed").search(f"{before} # {after}"):
            roles = {"weight": roles["weight"], "noise": roles.get("noise", 0.0)}  # "he weighed 61": nothing else
        _by_the_clock(heard, amount, roles, before)
        roles |= {ROLE: 2.0} if i in broken else {}
        if spoken:
            after_another(spoken[-1], amount, before, after, roles, adjoining=heard.amounts[i - 1].end == amount.start)
        spoken.append(Spoken(amount, before, after, roles))
    give_way(spoken)
    return spoken
