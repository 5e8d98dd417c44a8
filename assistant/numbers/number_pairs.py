"""What a number is to the one before it: put right, a part of it, a year, or not meant at all."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from functools import cache

from assistant.message import Amount, Heard, Reading
from knowledge.library import table

OF_IT = re.compile(r"(?:out )?of(?: the| his| her| my| their| its| those)?")
OF_WHOLE = re.compile(
    r"(?:(?:mls?|has|have|is|gone|went|in|through|delivered|given|done|down) )*(?:out )?of(?: the| a| his| her| my)?"
)
YEARS = range(1930, 2060)
YEAR_BEFORE = re.compile(r"\b(?:in|since|during|until|till|from|of|year|spring|summer|autumn|fall|winter|christmas)$")
POURED_IN = re.compile(r"\b(?:put|pour\w*|tip\w*|pump\w*|hung|loaded|fed|went|gone|goes|all|with)(?: \w+)? in$")



def in_its_unit(part: Amount, whole: Amount) -> Amount | None:
    """ "5 of his 8 ounces": the first number is ounces too."""
    bare, of = part.readings[0], whole.readings[0]
    if bare.kind != "number" or of.kind != "volume" or bare.value > of.value:
        return None
    return replace(part, readings=(Reading("volume", bare.value, of.unit),))


def part_of_a_whole(part: Amount, whole: Amount) -> bool:
    both = (part.readings[0], whole.readings[0])
    return all(r.kind in ("volume", "number") and r.value >= 20 for r in both) and both[0].value <= both[1].value


def is_year(amount: Amount, before: str) -> bool:
    """ "A seizure in 2019", "since 2021": four digits of a year after such a word, without a unit."""
    bare = amount.text.isdecimal() and len(amount.text) == 4 and int(amount.text) in YEARS
    return bare and bool(YEAR_BEFORE.search(before)) and not POURED_IN.search(before)


MOST_YEARS = 20  # of a child; above it may be the rate


def is_age(amount: Amount, before: str) -> bool:
    """ "My daughter, she's nine": how old somebody is, where other numbers may be the amount and the rate."""
    first = amount.readings[0]
    return first.kind == "number" and first.value <= MOST_YEARS and bool(beside("age_before").search(before))


@cache
def beside(name: str) -> re.Pattern[str]:
    """A pattern of knowledge/beside_en.toml."""
    return re.compile(table("beside_en")["patterns"][name], re.IGNORECASE)


def not_meant(before: str, after: str, kinds: set[str], others: Iterable[Amount]) -> bool:
    """ "125 rather than 110", "not half nine", "22:55 should be 22:35": denied, where another of its kind is told."""
    alike = any(kinds & {"number", "drops", *(r.kind for r in other.readings)} for other in others)
    return alike and bool(beside("denied").search(before) or beside("should_be").fullmatch(after))


def is_chore(amount: Amount, before: str, after: str) -> bool:
    """ "Fifteen minutes to flush and unhook", "a half hour drive": no time that a feed runs."""
    timed = amount.readings[0].kind == "time" and not before.endswith(("in", "within"))  # "in an hour to flush": when
    timed = timed and not beside("to_feed_it").match(after)  # "only nine hours to get the whole feed in"
    return timed and bool(beside("chore_after").search(after) or beside("chore_before").search(before))


A_SIZE = re.compile(r"\d{2,4}'?s", re.IGNORECASE)  # "the 237s"
MOST_AN_HOUR = 24


def plainly_told(amount: Amount, before: str, after: str) -> dict[str, float]:
    """Roles that whole expressions give an amount: what hangs ("the bag's at 220"), what had gone in when it stopped
    ("it stopped by itself at 440"), what was not taken ("left 60 of the lunch")."""
    first = amount.readings[0]
    if first.kind == "time" and beside("of_a_rule").match(after):
        return {"limit": 2.0, "off": 0.0, "ago": 0.0, "over": 0.0}  # "given the eight hour thing"
    if first.kind == "time" and beside("minutes_in").search(after):
        return {"ran": 2.0, "off": 0.0, "ago": 2.0, "over": 0.0}  # "stopped 40 minutes in"
    if beside("by_mouth_after").search(after) or beside("by_mouth_before").search(before):
        return {"reach": 2.0}  # what was drunk is no formula, nor a flush: no sum counts with it unasked
    if first.kind == "number" and beside("so_many_before").search(before):
        return dict.fromkeys(("container", "total", "left", "given", "hung", "rate"), 0.0)  # "a delivery of 48": pieces
    if beside("total_says").search(before) and any(r.kind in ("number", "volume") for r in amount.readings):
        return {"given": 2.0} | dict.fromkeys(("total", "left", "rate", "start"), 0.0)  # "total on the pump 702"
    if first.kind in ("number", "volume") and beside("told_by_me").search(before):
        return {"noise": 2.0} | dict.fromkeys(("given", "total", "left", "hung", "rate", "container"), 0.0)
    if first.kind in ("number", "volume") and beside("somebody_says").search(before):
        return {"hearsay": 2.0} | dict.fromkeys(("given", "total", "left", "hung", "rate", "container"), 0.0)
    if first.kind == "number" and (labelled := _by_its_label(before, after)) is not None:
        return {**dict.fromkeys(("rate", "total", "given", "left", "hung", "container"), 0.0), labelled: 3.0}
    if first.kind not in ("number", "volume") or (first.kind == "number" and first.value <= MOST_AN_HOUR):
        return {}
    if first.kind == "number" and beside("it_was_on").match(after):
        return {"rate": 2.0} | dict.fromkeys(("left", "given", "total", "hung", "start"), 0.0)  # "only 62 it was on"
    if beside("water_after").search(after):
        return {"flush": 2.0} | dict.fromkeys(("left", "given", "hung", "rate"), 0.0)  # "200 of boiled water"
    if beside("holds_before").search(before):
        return {"total": 2.0, "syringe": 0.0, "container": 0.0}  # "calories in the two hundred at lunchtime"
    if beside("short_after").search(after):
        return {"missed_amount": 2.0} | dict.fromkeys(("noise", "left", "total", "given", "rate"), 0.0)
    if beside("so_far_after").search(after) and not beside("so_far_not").search(before):
        return {"given": 2.0, "rate": 0.0, "left": 0.0, "total": 0.0}  # "210 in so far, what's still to come"
    if beside("bag_at").search(before) or beside("thats_left").search(after):
        return {"left": 2.0, "rate": 0.0, "given": 0.0}
    if beside("left_of_it_after").search(after) and not beside("had_before").search(before):
        return {"left": 2.0, "rate": 0.0, "given": 0.0, "total": 0.0}  # "710 of the second bag to go in"
    if beside("in_a_bag_after").match(after) and not beside("put_in_before").search(before):
        return {"left": 1.5, "given": 0.0, "rate": 0.0}  # "eleven ounces or so in mum's bag"
    if beside("until_had").search(before):
        return {"reach": 2.0, "given": 0.0, "left": 0.0, "total": 0.0, "rate": 0.0}  # "until she's had 400": not yet in
    if beside("within_what").match(after):
        return {"rate": 2.0, "given": 0.0, "total": 0.0}  # "would 75 be inside what I'm allowed?"
    called = beside("hold_before").search(before) and not beside("left_of_it_after").search(after)
    if called or A_SIZE.fullmatch(amount.text):
        return {"container": 2.0, "total": 0.0, "left": 0.0, "given": 0.0, "hung": 0.0, "rate": 0.0}
    if beside("poured_before").search(before) and beside("poured_after").search(after):
        return {"hung": 2.0, "given": 0.0, "left": 0.0, "rate": 0.0}  # "I tipped 450 in": in the bag, not in her
    if beside("stopped_at").search(before) or _is_in_them(before, after):
        return {"given": 2.0, "rate": 0.0, "left": 0.0, "total": 0.0}
    if beside("unfed_before").search(before) and beside("unfed_after").search(after):
        return {"unfed": 2.0, "left": 1.5, "given": 0.0, "total": 0.0}
    return {}


def _by_its_label(before: str, after: str) -> str | None:
    """ "648 where it says rate", "the volume box has 72": what the pump calls it, whatever would fit better."""
    for role, label in (("rate", "rate_label"), ("total", "volume_label")):
        if beside(f"{label}_after").match(after) or beside(f"{label}_before").search(before):
            return role
    return None


def _is_in_them(before: str, after: str) -> bool:
    """ "It gave out with just 310 in him": what went in; "to get just 310 in him": not yet."""
    told = beside("only_in_before").search(before) and beside("only_in_after").search(after)
    return bool(told) and not beside("only_in_yet").search(before)




CLAUSE = frozenset({
    ".", "?", "!", ";", ":", ",", "(", ")", "\n", "and", "&", "n", "but", "so", "then", "because", "cos", "while",
    "whilst", "-",
})
AT_THAT_TIME = re.compile(r"\b(?:at|by|before|from|till?|until|to|on|since|started|hung)$")


def says_now(heard: Heard, amount: Amount, before: str) -> bool:
    """ "It's half two now", "now nearly ten past four": the time on the wall."""
    kinds = [r.kind for r in amount.readings]
    if kinds[0] == "clock" and beside("now_before").search(before):
        return not beside("put_right_before").search(before)  # "take that back, it was ten to seven"
    follows = heard.tokens[amount.end : amount.end + 2]
    told = follows[:1] == ("now",) and follows[1:] not in (("not",), ("instead",), ("rather",))  # "ten now, not eight"
    return "clock" in kinds and told and not AT_THAT_TIME.search(before)


def an_hour_now(heard: Heard, amount: Amount, before: str) -> bool:
    """ "And its eleven.": a whole hour that is said bare, after a word for the time on the wall."""
    first = amount.readings[0]
    others = {r.kind for r in amount.readings[1:]} - {"clock"}
    hour = not others and first.kind == "number" and first.value in range(1, 13)
    follows = heard.tokens[amount.end : amount.end + 1]
    put = beside("put_as_a_case").search(before)  # "what if it was 4"
    return hour and (not follows or follows[0] in CLAUSE) and bool(beside("now_before").search(before)) and not put


def more_than_an_hour(amount: Amount) -> bool:
    """An amount, or a bare number that can be no hour."""
    return any(r.kind in ("rate", "volume", "number") and r.value > MOST_AN_HOUR for r in amount.readings)


def an_hour_or_so(amount: Amount) -> bool:
    """A time of day, a length of time, or a number small enough for one: what a story is full of."""
    first = amount.readings[0]
    return first.kind in ("time", "clock") or (first.kind == "number" and first.value <= MOST_AN_HOUR)


UNIT = re.compile(r"(?:an?|per|each) (?:hour|hr|minute|min|day)", re.IGNORECASE)
ONE_UNIT = re.compile(r"(?:one|1) ?(?:minute|min|second|sec)", re.IGNORECASE)
OF_DROPS = re.compile(r"\b(?:drops?|drips?)\b")
ASKED_FOR = re.compile(r"(?:how (?:much|many)\b.*|what\w*\b.*\b(?:that|be|it|mls?|mils?|drops?|rate|"
                       r"(?:come|comes|work|works|working|break|breaks)(?: \w+){0,2} (?:to|at|as|into)))$")


def is_unit_asked_for(amount: Amount, before: str) -> bool:
    """ "What is that an hour?" asks for a rate and gives no time."""
    one = ONE_UNIT.fullmatch(amount.text) and OF_DROPS.search(before)  # "how many drops in one minute"
    return bool((UNIT.fullmatch(amount.text) and ASKED_FOR.search(before)) or one)


@cache
def _taken_back() -> re.Pattern[str]:
    return re.compile(table("turns_en")["patterns"]["taken_back"], re.IGNORECASE)


def takes_back(between: str) -> bool:
    """Do the words between two numbers take the first of them back?"""
    return bool(_taken_back().search(between) or beside("taken_back").search(between))


UNITS = frozenset({"volume", "rate", "time"})
HOURS = re.compile(r"\d{1,2}h[0-5]\d")


def corrected(heard: Heard) -> set[int]:
    """Numbers that the speaker took back at once: "275 left, no sorry, 285"."""
    gone = set()
    for i, (one, other) in enumerate(zip(heard.amounts, heard.amounts[1:], strict=False)):
        between = " ".join(heard.tokens[one.end : other.start])
        taken_back = takes_back(between)
        hours = any(HOURS.fullmatch(each.text) for each in (one, other))  # "3h30, no, 3h40"
        hour = _kinds(one) == {"number"} and one.readings[0].value <= 12 and "clock" in _kinds(other)
        if taken_back and beside("of_another_thing").match(" ".join(heard.tokens[other.end : other.end + 3])):
            continue  # "eight, sorry, seven is the choir"
        if taken_back and beside("a_label").search(between):
            gone |= {i, i + 1}  # "72, no hang on, that's room 6": neither is ours
            continue
        alike = _kinds(one) & _kinds(other) or ("number" in _kinds(one) & {"number"} and _kinds(other) & UNITS)
        if taken_back and (hour or alike or (hours and "clock" in _kinds(one) | _kinds(other))):
            gone.add(i)
    return gone | _settled(heard)


def in_the_same_half(gone: Amount, amount: Amount) -> Amount:
    """ "6.45 in the morning, wait, quarter past 7": of the same half of the day."""
    old, new = gone.readings[0], amount.readings[0]
    if old.kind != "clock" or new.kind != "clock" or (old.unit, new.unit) != ("24h", "12h"):
        return amount
    return replace(amount, readings=(Reading("clock", int(new.value) % 720 + 720 * (int(old.value) >= 720), "24h"),))


def _settled(heard: Heard) -> set[int]:
    """ "He says 8 but I heard 8:40, put 8:40": of the times told, the one that is to be written."""
    clocks = [i for i, a in enumerate(heard.amounts) if _kinds(a) & {"clock", "number"}]
    if len(clocks) < 3 or not beside("to_be_put").search(" ".join(heard.tokens[: heard.amounts[clocks[-1]].start])):
        return set()
    last = heard.amounts[clocks[-1]]
    again = any(heard.amounts[i].text == last.text for i in clocks[:-1])
    return set(clocks[:-1]) if again else set()


def _kinds(amount: Amount) -> set[str]:
    return {r.kind for r in amount.readings}
