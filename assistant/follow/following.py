"""What only follows: the answer to a question back, and a turn of the last question with one value changed.

The words for them are data: knowledge/turns_en.toml.
"""

from __future__ import annotations

from assistant import gather
from assistant.clauses.own_words import named_feed, named_feeds, only_a_feed, own_words
from assistant.dialogue import Talk
from assistant.follow.nearest import LAST_HOUR, another_amount
from assistant.follow.turns import (
    LOG_TALK,
    LONG,
    SHORT,
    SURE,
    Question,
    after_a_sum,
    number_put_right,
    only_a_value,
    pattern,
    said_slots,
)
from assistant.message import Heard
from assistant.numbers.wants import Used
from assistant.understand import Candidate
from knowledge.library import table

FEW_WORDS = 6  # up to so many, it may be an answer all the same
KIND_ASKED = {"weight": "mass", "rate": "rate", "volume": "volume", "container": "volume", "over": "time",
              "off": "time", "span": "time", "days": "time", "start": "clock", "finish": "clock"}
OF_A_SET = ("pour", "bag_duration", "finish_at")  # a dry set takes its priming volume, a full one does not
OF_THE_LINE = ("prime", "pour", "guide")  # what "and if I had filled the line?" sounds like
FEW = 4  # words
LONGER = 22
CERTAIN = 0.95  # from this share on small words ask something of their own


def answers(
    text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...], feeds: tuple[str, ...] = ()
) -> bool:
    """Is this the answer to what was asked back, and not another question?"""
    if talk.question == "undo" or (talk.asks == "which_question" and talk.question in LOG_TALK):
        return False  # what was offered is no entry: nothing is written for it, nor taken back
    plainly = _asks_plainly(text, heard)
    if plainly and (talk.question in LOG_TALK or talk.asks == "remind"):
        return False  # "will it be done by six?": no start at six
    if talk.asks == "which_feed":
        asks_another = pattern("asks").search(text) or pattern("what_if").match(text)
        return len(heard.tokens) <= SHORT and not asks_another and _picks_a_feed(heard, feeds)
    if talk.asks == "start" and pattern("and_so_long_when").match(text):
        return False  # "oh and 10 min when Dad changed the bag": a pause, and not so long ago
    if talk.asks == "remind" and pattern("tells_of_an_act").search(text):
        return False  # "hung at nine" is no time to be reminded at
    if not heard.amounts or (talk.asks == "sure" and talk.code != "log_not_paused"):
        return False
    if _a_day_alone(heard) and ranked[0].p > SURE and ranked[0].intent != talk.question:
        return False  # "clocks go back sunday, does that matter" is no time at which a set was put on
    if _another_sum(heard, talk, ranked[0]):
        return False  # "made up at ten last night, is it still ok" is no length of a stop
    # "what if it's 50" asks nothing anew
    asks_anew = plainly or bool(pattern("asks_anew").search(pattern("what_if").sub("", text)))
    if asks_anew and (talk.question in LOG_TALK or (ranked[0].p > SURE and ranked[0].intent != talk.question)):
        return False  # a question puts nothing in the log
    return len(heard.tokens) <= LONG or not asks_anew


def _another_sum(heard: Heard, talk: Talk, top: Candidate) -> bool:
    """Does a whole sentence surely ask for another sum, with no value of the kind that was asked for?"""
    kind = KIND_ASKED.get(str(talk.asks))
    another = top.intent in gather.names() and top.intent != talk.question and top.p > SURE
    told = any(r.kind in (kind, "number") for a in heard.amounts for r in a.readings)
    return kind is not None and another and len(heard.tokens) > FEW_WORDS and not told


def _a_day_alone(heard: Heard) -> bool:
    return {a.readings[0].kind for a in heard.amounts} <= {"day", "date"}


def _asks_plainly(text: str, heard: Heard) -> bool:
    """Does it begin with a word that asks, with a matter of its own ("is the bag ok till six"), and not only put a
    value ("is six ok", "would ten do")?"""
    if not pattern("begins_to_ask").match(text):
        return False
    light = frozenset(table("turns_en")["words"]["puts_a_value"].split())
    return len([word for word in own_words(heard) if word not in light]) > 0


def _picks_a_feed(heard: Heard, feeds: tuple[str, ...]) -> bool:
    """A feed named, or pointed at ("the one that's on"), or a number put right beside hardly a word."""
    own = set(own_words(heard))
    if own & named_feeds(feeds):
        return True
    return own <= frozenset(table("turns_en")["words"]["points_at"].split()) or (bool(heard.amounts) and len(own) <= 1)


def turns(text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...], feeds: tuple[str, ...] = ()) -> bool:
    """Is this a turn of the last question: one value changed, few other words?"""
    if talk.question not in gather.names():
        return False
    own = own_words(heard)
    as_planned = pattern("usual_time").search(text) or pattern("usual_rate").search(text)
    of_the_set = talk.question in OF_A_SET and pattern("set_state").search(text)
    if as_planned or of_the_set:
        if (talk.last or {}).get("intent") != talk.question:
            return False  # something else was said since: what "the normal time" is of is not plain
        only_the_set = not heard.amounts and "?" not in text and ranked[0].card is None and len(heard.tokens) <= SHORT
        of_the_line = of_the_set and (ranked[0].intent in OF_THE_LINE or only_the_set)
        of_the_line = of_the_line and not pattern("asks_how_much").search(text)
        return len(heard.tokens) <= LONG and (bool(of_the_line) or not _asks_other(ranked, talk))
    if not (heard.amounts or pattern("same_again").search(text)):
        return only_a_feed(heard, feeds)
    if only_a_value(heard):
        return True
    if not own:  # "what rate for 420 by four?" asks anew, small as its words are
        return not (ranked[0].p >= CERTAIN and _asks_other(ranked, talk) and pattern("asks_anew").search(text))
    return bool(pattern("turn").match(text)) and len(own) <= FEW and not _asks_other(ranked, talk)


TO_AN_END = ("start_by", "rate_needed")  # what is worked out back from an end


def moves_the_end(text: str, heard: Heard, talk: Talk) -> bool:
    """ "What if she doesn't need to be off till half six?", after when to start: the same for another end."""
    if talk.question not in TO_AN_END or talk.asks is not None or (talk.last or {}).get("intent") != talk.question:
        return False
    told = [a.readings[0] for a in heard.amounts if a.readings[0].kind not in ("day", "date")]
    timed = len(told) == 1 and (told[0].kind == "clock" or (told[0].kind == "number" and told[0].value <= LAST_HOUR))
    anew = pattern("asks_anew").search(pattern("what_if").sub("", text))
    bare = not set(own_words(heard)) - {"it's", "that's", "its"}  # "what if it's seven"
    end = pattern("another_end").match(text) and (bare or pattern("of_an_end").search(text))
    return timed and bool(end) and not anew and len(heard.tokens) <= LONG and "finish" in talk.slots


AT_A_RATE = ("bag_duration", "finish_at", "remaining", "delivered", "rate_needed", "change_rate",
             "catch_up")
CASES = frozenset({"volume", "rate", "number", "clock", "time", "share"})


def another_case(text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...]) -> bool:
    """ "And what if she only gets 500?": a case put of the sum just answered, that asks nothing of its own."""
    put = pattern("what_if").match(text) or _then_how_much(text, heard, talk)
    if not after_a_sum(talk) or not heard.amounts or len(heard.tokens) > LONG or not put:
        return False
    kinds = {a.readings[0].kind for a in heard.amounts} - {"day", "date"}
    anew = pattern("asks_anew").search(pattern("what_if").sub("", pattern("then_how_much").sub("", text)))
    told = {w for w in heard.tokens if w.isalpha()}
    at_a_rate = ("change_rate", "catch_up") if talk.question in AT_A_RATE else ()
    if another_amount(heard, talk) and not pattern("of_a_rate").search(text):
        at_a_rate = ()  # "suppose it was 216 instead", of 360 in the bag
    own = () if talk.question == "start_by" else (talk.question,)  # worked out back from the end that was told
    weighed = talk.question == "per_kg" and ranked[0].card in OF_A_WEIGHT
    elsewhere = (ranked[0].card is not None and not weighed) or (
        not weighed and ranked[0].intent in (*at_a_rate, "caution", *own)
    )
    of_its_own = ranked[0].intent in gather.names() and ranked[0].intent != talk.question
    other = of_its_own and bool(pattern("asks_when").search(text))
    return bool(kinds) and kinds <= CASES and not (anew or elsewhere or other) and not told & table_words("nutrients")


OF_AN_AMOUNT = ("protein", "energy", "water", "per_kg", "containers")


def _then_how_much(text: str, heard: Heard, talk: Talk) -> bool:
    """ "Yesterday he managed 900 only. Then how much?" of the protein of the day; "he is 6.5 now, so with that?"."""
    one = talk.question in OF_AN_AMOUNT and len([a for a in heard.amounts if a.readings[0].kind not in DAYS]) == 1
    return one and bool(pattern("then_how_much").search(text))


DAYS = ("day", "date")
OF_A_WEIGHT = ("weight_change", "growing_out_of_plan")


def table_words(name: str) -> set[str]:
    return set(table("turns_en")["words"][name].split())


def puts_sum_right(text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...]) -> bool:
    """ "Hang on, scratch that, it's 480 I put in": a value of the sum just answered put right, and nothing asked."""
    if not after_a_sum(talk) or not heard.amounts or len(heard.tokens) > LONGER:
        return False
    asks = pattern("asks_anew").search(text) or pattern("asks_first").search(text)
    elsewhere = ranked[0].intent not in (talk.question, "caution") or number_put_right(text, heard)
    return not asks and elsewhere and bool(pattern("sum_put_right").match(text))


def a_step(text: str, heard: Heard, talk: Talk) -> bool:
    """ "An hour later", "ten less": a step from what was said; which of its values it moves is not plain."""
    if talk.question not in gather.names() or talk.asks is not None or len(heard.amounts) != 1:
        return False
    kind = heard.amounts[0].readings[0].kind
    by_time = kind == "time" and (pattern("step_earlier").search(text) or pattern("step_later").search(text))
    by_number = kind in ("number", "clock") and pattern("a_step_in_number").search(text)
    if by_number and pattern("a_step_of_rate").search(text) and "rate" in talk.slots:
        return False  # "twelve slower": the rate
    words = {w for name in ("of_a_time", "a_step") for w in table("turns_en")["words"][name].split()}
    return bool(by_time or by_number) and not set(own_words(heard)) - words


def _asks_other(ranked: tuple[Candidate, ...], talk: Talk) -> bool:
    """Does the message ask something of its own?"""
    elsewhere = gather.names() | {"plan_lookup", "remind", "caution", "guide"}
    return ranked[0].intent != talk.question and ranked[0].p >= SURE and ranked[0].intent in elsewhere


def resumed(heard: Heard, talk: Talk) -> Question | None:
    """The answer to a question back that another question came in between: of the kind that was asked for."""
    if talk.waiting is None or talk.asks is not None or len(heard.amounts) != 1 or set(own_words(heard)) - {"over"}:
        return None
    name, slots, asks = talk.waiting
    kind = heard.amounts[0].readings[0].kind
    return Question(name, carried=slots, favours=asks, follows=True) if kind == KIND_ASKED.get(asks) else None


def resumed_by_name(heard: Heard, talk: Talk, feeds: tuple[str, ...]) -> Question | None:
    """ "Which feed do you mean?", another ask of the message answered, and then "overnight": the sum that waits."""
    if talk.waiting is None or heard.amounts or len(heard.tokens) > SHORT or "?" in heard.tokens:
        return None
    name, slots, asks = talk.waiting
    if asks != "which_feed" or talk.asks == "which_feed" or not named_feed(heard, feeds):
        return None
    return Question(name, carried=slots, favours=asks, follows=True)


def standing(text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...]) -> dict[str, Used]:
    """Of the slots of the last question, those that stand in a turn of it.

    Another feed or day has its own amounts; with another time, what was read from log and clock no longer holds; what
    is to be as the plan has it ("at the normal time") is read there.
    """
    kinds = {a.readings[0].kind for a in heard.amounts}
    slots = talk.slots
    if named_feed(heard, feeds) or kinds & {"day", "date"}:
        slots = said_slots(slots)
    if "clock" in kinds:
        slots = {name: used for name, used in slots.items() if used.origin not in ("feed log", "clock")}
        slots = {name: used for name, used in slots.items() if name != "given" or used.words}  # made of another start
    gone = ({"start"} if pattern("usual_time").search(text) else set()) | (
        {"rate"} if pattern("usual_rate").search(text) and "rate" not in kinds else set()
    )
    if pattern("set_state").search(text):
        gone |= {n for n in ("priming", "priming_volume") if n in slots and slots[n].origin != "question"}
    return {name: used for name, used in slots.items() if name not in gone}
