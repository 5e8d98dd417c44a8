"""What must be asked before a sum is done: unread numbers, easily misheard ones, two numbers for one slot."""

from __future__ import annotations

import re
from decimal import Decimal

from assistant.hear import digit_by_digit, misheard
from assistant.numbers.beside_the_point import HOURS, compared, harmless, of_something_else, said_again
from assistant.numbers.number_pairs import beside
from assistant.numbers.said import Spoken
from assistant.numbers.wants import Ask
from assistant.numbers.weighed_doubts import OF_A_RUN, counts_in, held_otherwise, likely_aside, of_before, plan_instead
from assistant.slots import Slots
from rules.quantity import Quantity, is_amount, number, qty, unit_of

RIVALS = {"volume": "volume", "rate": "rate", "over": "time", "off": "time"}


def doubts(slots: Slots, question: str = "") -> None:
    """Raise Ask where a number of the message is not surely what the sum would take it for."""
    unread = [u for u in slots.said.heard.unread if not _elsewhere(u, slots.said.lower)]
    if unread:
        raise Ask("which_number", code="unread", unread=", ".join(unread))
    for name, spoken in slots.spoken.items():
        if name in slots.counted:
            continue
        after = slots.said.heard.tokens[spoken.amount.end : spoken.amount.end + 1]
        if after in (("oh",), ("o",)) or of_something_else(spoken, after):  # "nine fifty five oh", "72 bananas"
            raise Ask("which_number", code="unread", unread=f"{spoken.amount.text} {after[0]}")
    if slots.confirmed:
        return
    for name, spoken in slots.spoken.items():
        value = slots.used[name].value if name in slots.used else None
        if is_amount(value) and spoken.amount.in_words:
            _misheard(name, value, slots)
    _rivals(slots)
    held_otherwise(slots, question)
    plan_instead(slots, question)
    _unclaimed(slots, question)


ELSEWHERE = re.compile(r"(?:outside|temp\w*|weather|floor|lift|level|freezer)(?: is| at| of)?[ :]*$")


def _elsewhere(unread: str, text: str) -> bool:
    """Is the unread number about something that has no part in a feed ("temp outside -4")?"""
    return bool(ELSEWHERE.search(text.partition(unread.lower())[0]))


def _misheard(name: str, value: Quantity, slots: Slots) -> None:
    """Thirteen or thirty: asked where the other reading is also possible under the plan."""
    unit = unit_of(value)
    twin = misheard(number(value, unit))
    if twin is None or not 13 <= number(value, unit) <= 90:
        return
    other = qty(twin, unit)
    if _possible(name, other, slots):
        raise Ask(
            "which_number",
            code="misheard",
            slot=name,
            said=value,
            other=other,
            said_digits=digit_by_digit(number(value, unit)),
            other_digits=digit_by_digit(twin),
        )


def _possible(name: str, other: Quantity, slots: Slots) -> bool:
    plan = slots.night.plan
    if plan is None:
        return True
    if name == "rate":
        low, high = plan.limits.lowest_rate, plan.limits.highest_rate
        ordered = [f.rate for f in plan.feeds if f.rate is not None]
        return ((low is None or high is None) and not ordered) or bool(
            low is not None and high is not None and low <= other <= high
        )
    return name in ("volume", "total", "given")


TIMELESS = frozenset({  # sums without a clock
    "protein", "energy", "per_kg", "mix", "convert", "strength", "prime", "syringe", "timetable",
})
LONG_AGO = frozenset({"week", "month", "year"})
COUNTED_OVER = re.compile(r"\b(?:for|over|in|per|every|each|next|last)$")
BOUNDS = re.compile(r"\b(?:since|until|till?|by|from|to|between|and|after|before|up to)(?: about)?$")
TOLD_BY = re.compile(r"\b(?:says?|said|reckons?|thinks?|told (?:me|us)|promised|supposed to be|meant to be)"
                     r"(?: (?:about|it's|it|was|is|will|lasts?|for|a|good))*$")


def _an_hour_of_nothing(spoken: Spoken, question: str, *, counted: bool) -> bool:
    """ "What's her protein, homework's due at 8": an hour beside a sum that has none; or what somebody said of it."""
    if question == "supply" and spoken.amount.readings[0].kind == "time":
        return bool(TOLD_BY.search(spoken.before))
    if question in TIMELESS and spoken.amount.readings[0].unit in LONG_AGO and not COUNTED_OVER.search(spoken.before):
        return True  # "home five weeks later": when, and not for how long
    if question == "timetable" and spoken.amount.readings[0].kind == "time" and not COUNTED_OVER.search(spoken.before):
        return True  # "she is at her mother's 5 days"
    timed = spoken.reading("clock") is not None and (spoken.before.endswith("at") or not spoken.reading("number"))
    if question in TIMELESS and timed and spoken.amount.readings[0].kind == "clock" and counted:
        return True  # "400 of formula since midnight and three flushes": what is counted is told
    return question in TIMELESS and timed and not BOUNDS.search(spoken.before)


def _of_this_sum_alone(spoken: Spoken, slots: Slots, question: str) -> bool:
    """What is beside the point of one sum: what is set aside from the stock, the way back, how many
    there were of what one is still open."""
    heard, first = slots.said.heard, spoken.amount.readings[0]
    if question == "supply":
        return "stock" in slots.spoken and first.kind in ("number", "count") and bool(
            beside("set_aside").search(spoken.before))
    if question == "battery":
        return first.kind == "number" and bool(beside("way_back").match(spoken.after))
    if question in ("opened_until", "discard_at"):
        return first.kind == "number" and (
            first.value != int(first.value) or " and a " in spoken.amount.text
            or bool(beside("of_containers").match(" ".join(heard.tokens[spoken.amount.end : spoken.amount.end + 3])))
        ) and spoken.reading("clock") is None
    return False


BY_THE_DAY = frozenset({"containers", "supply", "timetable", "mix", "opened_until", "battery", "intake", "water"})


def _so_many_days(spoken: Spoken) -> bool:
    """ "For three days", "this one night": no feed runs for so long, and no sum but of a stock counts with it."""
    first = spoken.amount.readings[0]
    return (first.kind == "time" and first.unit in ("day", "week")) or (
        first.kind == "count" and first.unit in ("night", "day"))


LAST_HOUR = 12
IN_TIME = re.compile(r"\b(?:finish|finished|done|end|through|make it|out)(?: it| by| in time)? (?:before|by|for)$")
AN_END = re.compile(r"\b(?:ends?|finish|finishes|finished|done|off|stops?|over)(?: (?:at|by|around|still|about))*$")
NO_END_GIVEN = ("catch_up", "bag_duration", "finish_at", "remaining", "change_rate")  # what the end is asked of


#: kinds of number that change nothing in the answer to a question
AMOUNTS = frozenset({"volume", "rate", "share", "percent", "count", "energy", "density"})
PLAYS_NO_PART = {
    "prime": AMOUNTS, "timetable": frozenset({"number"}), "discard_at": AMOUNTS, "opened_until": AMOUNTS,
    "advance": AMOUNTS | {"number"},
    "clock_change": frozenset({"volume", "share"}), "battery": frozenset({"time"}),
}


#: sums in which the time that something else takes plays no part
BESIDE_A_CHORE = frozenset({"start_by", "bag_duration", "remaining"})


def _unclaimed(slots: Slots, question: str) -> None:
    """A number that was said and plays no part: asked about, not dropped, unless it plainly has no part in the sum."""
    no_part = PLAYS_NO_PART.get(question, frozenset())
    counted = any(is_amount(slots.used[n].value) for n in slots.spoken if n in slots.used and n != "now")
    lost = [
        spoken.amount.text
        for spoken in slots.unclaimed()
        if spoken.after in ("x", "times", "lots of")  # "2 x 60 in"
        or (counts_in(spoken, question) and not _told_again(spoken, slots, question))
        or (not (_amount_kind(spoken) in no_part or harmless(spoken, slots) or _in_time(spoken, question))
        and not _an_hour_of_nothing(spoken, question, counted=counted)
        and not (question == "rate_needed" and _a_rate(spoken))
        and not (question in OF_A_RUN | {"change_rate"} and of_before(spoken))
        and not likely_aside(spoken, question)
        and not _of_this_sum_alone(spoken, slots, question)
        and not (question not in BY_THE_DAY and _so_many_days(spoken))
        and not (question in OF_A_RUN and spoken.roles.get("water_given", 0.0) > 0.9)
        and not (question in BESIDE_A_CHORE and spoken.roles.get("chore", 0.0) > 0.9))
    ]
    if lost:
        raise Ask("which_number", code="unclaimed", numbers=", ".join(lost))


def _a_rate(spoken: Spoken) -> bool:
    """ "It was 24 hours at 55, now 1,210 over 22": the rate of before, where the rate is what is asked."""
    first = spoken.amount.readings[0]
    return first.kind == "rate" or (first.kind == "number" and spoken.likely == "rate")


def _told_again(spoken: Spoken, slots: Slots, question: str) -> bool:
    """What says again what is counted with, the plan's own, the time that it is, or what the end is held against."""
    return said_again(spoken, slots) or compared(spoken) or _in_time(spoken, question)


def beside_the_entry(slots: Slots) -> None:
    """What is written down holds every amount that was told with it, or is asked about first.

    Without a time that was heard as one, what may be a time is no thing beside the point ("off bang on six").
    """
    timed = bool({"start", "ago", "now"} & slots.spoken.keys()) or slots.said.has("now", "just", "just now")
    for spoken in slots.unclaimed():
        kinds = {r.kind for r in spoken.amount.readings}
        may_be_its_time = not timed and _may_be_a_time(spoken)
        if not kinds & {"volume", "rate", "share", "percent", "number", "clock"}:
            continue
        if may_be_its_time or not harmless(spoken, slots):
            raise Ask("which_number", code="unclaimed_entry", numbers=spoken.amount.text)


def _may_be_a_time(spoken: Spoken) -> bool:
    first = spoken.amount.readings[0]
    return spoken.reading("clock") is not None or (first.kind == "number" and first.value in range(1, LAST_HOUR + 1))


def _in_time(spoken: Spoken, question: str) -> bool:
    """ "Will he be done by seven?": the answer is held against it, where the end is what is asked."""
    if question == "clock_change":  # "does it end six like always?"
        return bool(AN_END.search(spoken.before)) and spoken.reading("clock", "number") is not None
    ends = spoken.likely == "finish" and spoken.reading("clock") is not None  # "will it carry us to my half four alarm"
    return question in NO_END_GIVEN and (ends or bool(IN_TIME.search(spoken.before)))


def _amount_kind(spoken: Spoken) -> str:
    """The kind of a number; a bare one that can be no hour is an amount."""
    first = spoken.amount.readings[0]
    if first.kind == "number" and spoken.reading("clock") is not None:
        return "clock"  # "whisked up at 1.35"
    return "volume" if first.kind == "number" and first.value > HOURS else first.kind


def _rivals(slots: Slots) -> None:
    """A second amount of the same kind, said with its unit and left over, may be the one that was meant."""
    for name in slots.spoken:
        kind = RIVALS.get(name)
        mine = slots.spoken[name]
        if kind is None or not any(r.kind == kind for r in mine.amount.readings[:1]):
            continue
        for other in slots.unclaimed():
            reading = other.amount.readings[0]
            if reading.kind == kind and isinstance(reading.value, Decimal) and _close(mine.roles, other.roles, name):
                raise Ask("which_number", slot=name, numbers=f"{mine.amount.text}, {other.amount.text}")


def _close(mine: dict[str, float], other: dict[str, float], name: str) -> bool:
    role = {"volume": "left", "rate": "rate", "over": "over", "off": "off"}[name]
    return other.get(role, 0.0) > 0.3 and max(other.values(), default=0.0) <= other.get(role, 0.0)


def left_out(slots: Slots) -> list[str]:
    """Numbers that played no part, said back so that nothing is dropped unseen."""
    denied = (" not", "rather than", "instead of")  # "72, not 69": taken back by the words themselves
    idle = [s for s in slots.unclaimed() if not f" {s.before}".endswith(denied)]
    return [s.amount.text for s in idle if s.amount.text not in ("a day", "one day", "each day", "per day")]
