"""Is a number told of something else: another event's hour, another story, the clocks? Judged by its clause."""

from __future__ import annotations

from itertools import pairwise

from assistant.language.features import take_apart
from assistant.message import Amount, Heard
from assistant.numbers.number_pairs import CLAUSE, MOST_AN_HOUR, beside
from assistant.understand import elsewhere
from knowledge.library import table

FED = frozenset({"volume", "rate", "number", "share", "percent"})
OF_THE_FEED = frozenset({  # a sentence with one of these beside a number tells something of the feed
    "bag", "container", "discard", "drops", "feed", "flush", "opened", "paused", "pour", "powder", "pump", "rate",
    "resumed", "started", "stopped", "supply", "syringe", "water",
})


A_STORY = 2  # words that a clause of another story has at least: "timed 00:20" tells none
OF_ITSELF = frozenset({
    "start", "starts", "started", "starting", "begin", "begins", "began", "ends", "finish", "finishes", "finished",
    "is", "was", "at", "on", "runs", "kicks", "went", "goes", "came", "off",
})


def of_an_event(heard: Heard, amount: Amount) -> bool:
    """ "The bus is at ten past two": a time of day in a clause about another event, without a word of the feed."""
    if all(r.kind != "clock" and (r.kind != "number" or r.value > MOST_AN_HOUR) for r in amount.readings):
        return False
    tokens, (first, last) = heard.tokens, _clause(heard, amount)
    if _names_it(heard, amount):
        return True
    if first < amount.start and tokens[amount.start - 1] in ("by", "before"):
        return False  # "in the car by half five": a deadline
    if any(first <= a.start < last and a.readings[0].kind in FED for a in heard.amounts if a is not amount):
        return False  # "the nurse told her 45 was left at half past eight"
    words, events = {w.removesuffix("'s") for w in tokens[first:last]}, table("beside_en")["events"]
    handled = beside("handled").search(" ".join(tokens[first:last]))  # "my wife put it up at seven": the feed
    feed = words & set(events["unless"])
    if any(t.removesuffix("'s") in events["words"] and after in OF_ITSELF for t, after in pairwise(tokens[first:last])):
        feed -= OF_ITSELF  # "the game starts at 1"
    household = beside("household").search(" ".join(tokens[first:last]))
    return not feed and bool(household or (words & set(events["words"]) and not handled))


def _names_it(heard: Heard, amount: Amount) -> bool:
    """ "The 8.15 bus", "my nine o'clock appointment": an event called by its hour."""
    led = heard.tokens[amount.start - 1 : amount.start] if amount.start else ()
    after = heard.tokens[amount.end : amount.end + 2]
    named = after[:1] and after[0] in table("beside_en")["events"]["words"]
    return bool(set(led) & OWNERS and (named or after == ("school", "run")))


OWNERS = frozenset({"the", "my", "his", "her", "our", "their", "a", "an", "that", "this"})


def in_another_story(heard: Heard, amount: Amount) -> bool:
    """ "Our ball team lost by 17", "3 of them all roaring": a clause of other things, without a word of the feed."""
    tokens, (first, last) = heard.tokens, _clause(heard, amount)
    words = " ".join((*tokens[first : amount.start], *tokens[amount.end : last]))
    said = words.split()
    of_feeding = set(said) & set(table("beside_en")["events"]["unless"])
    if len(said) < A_STORY or of_feeding or beside("handled").search(words):
        return False
    if any(first <= a.start < last and a.readings[0].kind in FED for a in heard.amounts if a is not amount):
        return False  # "they lowered it to 70 at eleven"
    led = " ".join(tokens[first : amount.start])
    if beside("bounds").search(led) or beside("went_on").search(led) or beside("asks_here").search(words):
        return False
    concepts = {name for name, _, _ in take_apart(words).hits}
    return elsewhere(words) and not concepts & OF_THE_FEED


def of_other_people(heard: Heard, amount: Amount, before: str) -> bool:
    """ "Granny's 82", "yesterday it was 91", "my other client had 500 at 125", "she comes 10:15", "slept 9 to 6"."""
    first = amount.readings[0]
    hourly = first.kind in ("clock", "time") or (first.kind == "number" and first.value <= MOST_AN_HOUR)
    hourly = hourly or any(r.kind == "clock" for r in amount.readings)  # "PT comes at 930"
    if hourly and (beside("they_come").search(before) or beside("own_hours").search(before)):
        return True
    if hourly and _of_somebody_back(before):
        return True
    tokens, (begins, ends) = heard.tokens, _clause(heard, amount)
    words = " ".join(tokens[begins:ends])
    theirs = first.kind in FED and beside("of_another_bed").search(words) and not beside("ours_is").search(words)
    if theirs and beside("ours_is").search(f"{' '.join(tokens[:begins])} . {' '.join(tokens[ends:])}"):
        return True  # "bed 3 is on 90, ours is 72"
    if first.kind in FED and beside("in_another_bed").search(words) and not beside("ours_is").search(words):
        return not beside("asks_here").search(words)
    return bool(beside("of_another_patient").search(words)) and not beside("asks_here").search(words)


def of_another_time(heard: Heard, amount: Amount) -> bool:
    """ "At respite last week they had her on 85, but at home it's the normal setting": what was, beside what is.

    Where nothing is told of now, the sum may be of then, and the number counts.
    """
    if amount.readings[0].kind not in FED:
        return False
    tokens, (begins, ends) = heard.tokens, _clause(heard, amount)
    words = " ".join(tokens[begins:ends])
    told = beside("another_time").search(words) and beside("was_so").search(words)
    if not told or beside("asks_here").search(words) or beside("of_now").search(words):
        return False
    before, after = " ".join(tokens[:begins]), " ".join(tokens[ends:])
    if beside("of_then").search(after):
        return False  # "in hospital he was on 50, how long would 400 take at that"
    told_after = not after.strip(" .!?") and beside("asks_here").search(before)
    return bool(told_after or beside("as_it_is").search(f"{before} . {after}"))


def of_last_time(heard: Heard, amount: Amount) -> bool:
    """ "Last time we were down to 3": how it was before an order or a visit that is over, and no count made then."""
    begins, ends = _clause(heard, amount)
    words = " ".join(heard.tokens[begins:ends])
    told = beside("last_time").search(words) and beside("was_so").search(words)
    return bool(told) and not beside("asks_here").search(words) and not beside("counted_then").search(words)


def of_a_time_gone(heard: Heard, amount: Amount) -> bool:
    """ "I was 79 in the summer", "it said 128 at Halloween": what was so then, in a clause of its own."""
    begins, ends = _clause(heard, amount)
    words = " ".join(heard.tokens[begins:ends])
    then = beside("another_time").search(words) or beside("at_a_feast").search(words)
    return bool(then and beside("was_so").search(words)) and not beside("asks_here").search(words)


def of_another_reading(heard: Heard, amount: Amount, after: str) -> bool:
    """ "Sugar was 118 at ten", "phone's at 9 per cent", "it's an hour home", "lights went for ten minutes, the pump
    never noticed": of a body, a telephone, a journey, or a power cut that stopped nothing."""
    if amount.readings[0].kind == "time" and beside("a_journey").match(after):
        return True
    begins, ends = _clause(heard, amount)
    words = " ".join(heard.tokens[begins:ends])
    if beside("power_went").search(words) and beside("pump_ran_on").search(" ".join(heard.tokens)):
        return True
    of_it = beside("other_reading").search(" ".join((*heard.tokens[begins : amount.start], "")))
    return bool(of_it) and not set(words.split()) & FEEDING


FEEDING = frozenset({"bag", "feed", "pump", "rate", "running", "left", "ml", "mls", "started", "start", "hung"})


def in_brackets(heard: Heard, amount: Amount, roles: dict[str, float]) -> bool:
    """ "(she's 9)", "(two nights, four staff)": said in passing, without a unit of feeding or a word that gives it a
    part in a feed."""
    if amount.readings[0].kind not in ("number", "clock", "time", "count") or max(roles.values(), default=0.0) >= PLAIN:
        return False
    before, after = heard.tokens[: amount.start], heard.tokens[amount.end :]
    opened = max((at for at, t in enumerate(before) if t == "("), default=-1)
    return opened >= 0 and ")" not in before[opened:] and ")" in after


PLAIN = 0.9  # how strongly a word speaks for a role that counts


def of_a_body_heat(amount: Amount, before: str, after: str) -> bool:
    """ "She's 36.9 and happy", "37.2, she's fine": a reading of the thermometer, and no rate."""
    first = amount.readings[0]
    bare = first.kind == "number" and "." in amount.text and any(low <= first.value < high for low, high in OF_A_BODY)
    return bare and not beside("led_as_a_rate").search(before) and bool(
        beside("of_a_body").search(before) or beside("of_somebody_after").match(after))


OF_A_BODY = ((35, 42), (95, 107))  # degrees, of either scale


def _of_somebody_back(before: str) -> bool:
    """ "They are in at half twelve"; "once we are back at ten I'll hang it" may well be the feed's start."""
    back = beside("people_back").search(before) or beside("looked_after").search(before)
    return back is not None and not beside("once_back").search(before[: back.start()].rstrip())


def of_an_age(amount: Amount, before: str) -> bool:
    """ "Granny's 82", "he's only 3"."""
    first = amount.readings[0]
    whole = first.kind == "number" and first.value == int(first.value)  # "she was 25.5": on the scales
    return whole and first.value <= OLDEST and bool(beside("of_an_age").search(before))


def of_an_age_or_day(amount: Amount, before: str, after: str) -> bool:
    """A number left over that is somebody's age, or what another day's figure was."""
    another_day = beside("of_another_day").search(before) or beside("of_another_day_after").match(after)
    return of_an_age(amount, before) or bool(another_day)


OLDEST = 110
FAR = 25  # words; what is said further off, in talk without a stop, is of something else


def _clause(heard: Heard, amount: Amount) -> tuple[int, int]:
    tokens, first, last = heard.tokens, amount.start, amount.end
    while first > max(0, amount.start - FAR) and not _parts(tokens, first - 1):
        first -= 1
    while last < min(len(tokens), amount.end + FAR) and not _parts(tokens, last):
        last += 1
    return first, last


def _parts(tokens: tuple[str, ...], at: int) -> bool:
    """Does a clause end at a token? "An" before a consonant is "and", as before "I am" ("at 9 an ahm done in")."""
    following = tokens[at + 1] if at + 1 < len(tokens) else ""
    return tokens[at] in CLAUSE or (tokens[at] == "an" and (following[:1] not in "aeiouh" or following in SELF))


SELF = ("ahm", "am", "i", "im", "i'm", "he", "he's", "hes", "her", "his", "it", "its", "it's", "our", "a", "all")


def water_given(heard: Heard, amount: Amount, before: str) -> bool:
    """ "Gave 20 water", "a 30 mL flush": an amount of water, and none of the feed's."""
    first = amount.readings[0]
    if first.kind not in ("number", "volume"):
        return False
    after = " ".join(heard.tokens[amount.end : amount.end + 5])
    told = first.kind == "volume" or before in ("", "and", "then") or beside("water_given_before").search(before)
    return bool(told and beside("water_given_after").match(after))


def at_a_change(before: str) -> bool:
    """ "The rate went up at", "I was told to ease it down at": the hour is that of another rate."""
    return bool(beside("changed_at").search(before) or beside("turned_to_another_rate").search(before))


def of_the_clocks(heard: Heard, amount: Amount) -> bool:
    """ "The clocks go back tonight": the day is the clocks', in a clause without a word of the feed."""
    first, last = _clause(heard, amount)
    words = " ".join(heard.tokens[first:last])
    return bool(beside("clocks_change").search(words)) and not set(words.split()) & set(
        table("beside_en")["events"]["unless"]
    )
