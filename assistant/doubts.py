"""What must be asked before a sum is done: unread numbers, easily misheard ones, two numbers for one slot."""

from __future__ import annotations

import re
from datetime import datetime, time
from decimal import Decimal

from assistant.hear import digit_by_digit, misheard
from assistant.language.spelling import familiar
from assistant.message import Reading
from assistant.night import feed_rate, feed_volume
from assistant.said import Spoken
from assistant.slots import Slots
from assistant.wants import Ask
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
        if after in (("oh",), ("o",)) or _of_something_else(spoken, after):  # "nine fifty five oh", "72 bananas"
            raise Ask("which_number", code="unread", unread=f"{spoken.amount.text} {after[0]}")
    if slots.confirmed:
        return
    for name, spoken in slots.spoken.items():
        value = slots.used[name].value if name in slots.used else None
        if is_amount(value) and spoken.amount.in_words:
            _misheard(name, value, slots)
    _rivals(slots)
    _unclaimed(slots, question)


def _of_something_else(spoken: Spoken, after: tuple[str, ...]) -> bool:
    """Is a bare number counted in things that are no part of feeding?"""
    return bool(after) and spoken.amount.readings[0].kind == "number" and _is_foreign_plural(after[0])


RUN_TOGETHER = frozenset({"thats", "whats", "hows", "whens", "wheres", "lets", "shes", "theres", "heres", "whos"})


def _is_foreign_plural(word: str) -> bool:
    plural = len(word) > 3 and word.isalpha() and word.endswith("s") and word not in RUN_TOGETHER
    return plural and word not in familiar()


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


#: no sum that leaves one of these over counts with it
BESIDE_THE_FEED = frozenset({"length", "temperature", "mass", "age", "other"})
COUNTED = frozenset({"container", "bottle", "bag", "meal", "feed", "scoop", "syringe", "jug"})
HOURS = 24
A_FEW = 6
A_DAY = qty(HOURS, "h")
COMPARED = re.compile(
    r"\b(?:(?:more|less|fewer|later|longer) than|enough|need|or"
    r"|(?:till?|until|(?:last|see|get|do|make|hang|stay|keep|leave)(?: \w+)*) (?:to|till?|until|by)"
    r"|(?:ok|okay|good|fine|safe|usable|alright|all right) (?:at|by|for|until|till?))$"
)
IN_TIME = re.compile(r"\b(?:finish|finished|done|end|through|make it|out)(?: it| by| in time)? (?:before|by|for)$")
NO_END_GIVEN = ("catch_up", "bag_duration", "finish_at", "remaining", "change_rate")  # what the end is asked of


def compared(spoken: Spoken) -> bool:
    """ "Do I need one box or two", "will it last till 5": a number that the answer is held against."""
    if spoken.roles.get("held_against", 0.0) > 0.9 and spoken.reading("clock", "number") is not None:
        return True
    return bool(COMPARED.search(spoken.before) or re.match(r"(?:or|enough|goes|yes|right)\b", spoken.after))


#: kinds of number that change nothing in the answer to a question
AMOUNTS = frozenset({"volume", "rate", "share", "percent", "count", "energy", "density"})
PLAYS_NO_PART = {"discard_at": AMOUNTS, "opened_until": AMOUNTS, "clock_change": frozenset({"volume", "share"}),
                 "battery": frozenset({"time"})}


def _unclaimed(slots: Slots, question: str) -> None:
    """A number that was said and plays no part: asked about, not dropped, unless it plainly has no part in the sum."""
    no_part = PLAYS_NO_PART.get(question, frozenset())
    lost = [
        spoken.amount.text
        for spoken in slots.unused()
        if not (_amount_kind(spoken) in no_part or _harmless(spoken, slots) or _in_time(spoken, question))
        and not (question == "start_by" and spoken.roles.get("chore", 0.0) > 0.9)
    ]
    if lost:
        raise Ask("which_number", code="unclaimed", numbers=", ".join(lost))


def beside_the_entry(slots: Slots) -> None:
    """What is written down holds every amount that was told with it, or is asked about first."""
    for spoken in slots.unused():
        kinds = {r.kind for r in spoken.amount.readings}
        if kinds & {"volume", "rate", "share", "percent", "number", "clock"} and not _harmless(spoken, slots):
            raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)


def _in_time(spoken: Spoken, question: str) -> bool:
    """ "Will he be done by seven?": the answer is held against it, where the end is what is asked."""
    return question in NO_END_GIVEN and bool(IN_TIME.search(spoken.before))


def _amount_kind(spoken: Spoken) -> str:
    """The kind of a number; a bare one that can be no hour is an amount."""
    first = spoken.amount.readings[0]
    return "volume" if first.kind == "number" and first.value > HOURS else first.kind


def _harmless(spoken: Spoken, slots: Slots) -> bool:
    """Is a number beside the point: of something else, said twice, the plan's, or what the answer is held against?"""
    reading = spoken.amount.readings[0]
    if max(spoken.roles.get("noise", 0.0), spoken.roles.get("weight", 0.0)) > 0.9 or reading.kind in BESIDE_THE_FEED:
        return True
    if reading.kind == "count" and reading.unit not in COUNTED:
        return True
    if reading.kind == "number" and reading.value <= A_FEW and spoken.before.endswith("next"):
        return True  # "when are the next two?"
    if reading.kind == "count" and reading.unit in ("feed", "meal") and reading.value == len(slots.night.feeds):
        return True
    if spoken.roles.get("event", 0.0) > 0.9 or _of_something_else(spoken, tuple(spoken.after.split()[:1])):
        return True  # at the bus stop; "it would be two mouthfuls"
    return compared(spoken) or _said_twice(spoken, slots) or _of_the_plan(spoken, slots)


def _said_twice(spoken: Spoken, slots: Slots) -> bool:
    """Does it say again what is counted with? A day's length is one that every plan is written for."""
    reading = spoken.amount.readings[0]
    if reading.kind == "clock":
        used = (u.value for u in slots.used.values() if isinstance(u.value, datetime))
        return any(_same_time(at, int(reading.value)) for at in used)
    if _same(reading, A_DAY):
        return True
    amounts = [u.value for u in slots.used.values() if is_amount(u.value)]
    if reading.kind == "number":
        if any((c := s.reading("count")) is not None and c.value == reading.value for s in slots.spoken.values()):
            return True
        alike = [s for s in slots.said.spoken if s.amount.readings[0].value == reading.value]
        return len(alike) == 2 and any(amount.magnitude == reading.value for amount in amounts)
    return any(_same(reading, amount) for amount in amounts)


def _of_the_plan(spoken: Spoken, slots: Slots) -> bool:
    """Is it the ordered start, amount or rate of the feed meant, or the feed's name ("the noon feed")?"""
    if slots.night.feeds_named(f"{spoken.before} {spoken.amount.text}"):
        return True
    if _strength(spoken, slots):
        return True
    of, clock = slots.night.feed_for(slots.said.heard.text), spoken.reading("clock")
    if of is None:
        if clock is not None and any(f.start and _same_time(f.start, int(clock.value)) for f in slots.night.feeds):
            return True
        first, rates = spoken.amount.readings[0], [f.rate for f in slots.night.feeds if f.rate is not None]
        return first.kind in ("rate", "number") and first.value in [number(rate, "mL/h") for rate in rates]
    for amount in (feed_volume(of), feed_rate(of)):
        if amount is not None and any(
            _same(r, amount) or (r.kind == "number" and r.value == amount.magnitude) for r in spoken.amount.readings
        ):
            return True
    return of.start is not None and clock is not None and _same_time(of.start, int(clock.value))


def _strength(spoken: Spoken, slots: Slots) -> bool:
    """ "The formula is the 1.3 one": the plan's strength, told as a name."""
    plan, reading = slots.night.plan, spoken.amount.readings[0]
    energy = plan.formula.energy if plan is not None else None
    if energy is None or reading.kind not in ("number", "density"):
        return False
    return bool(reading.value == number(energy, "kcal/mL"))


def _same_time(at: datetime | time, minutes: int) -> bool:
    """Is it the same on a twelve-hour clock?"""
    return (at.hour * 60 + at.minute - minutes) % 720 == 0


def _same(reading: Reading, value: Quantity) -> bool:
    try:
        return bool(qty(reading.value, reading.unit) == value)
    except (KeyError, ValueError, TypeError, AttributeError):
        return False


def _rivals(slots: Slots) -> None:
    """A second amount of the same kind, said with its unit and left over, may be the one that was meant."""
    for name in slots.spoken:
        kind = RIVALS.get(name)
        mine = slots.spoken[name]
        if kind is None or not any(r.kind == kind for r in mine.amount.readings[:1]):
            continue
        for other in slots.unused():
            reading = other.amount.readings[0]
            if reading.kind == kind and isinstance(reading.value, Decimal) and _close(mine.roles, other.roles, name):
                raise Ask("which_number", slot=name, numbers=f"{mine.amount.text}, {other.amount.text}")


def _close(mine: dict[str, float], other: dict[str, float], name: str) -> bool:
    role = {"volume": "left", "rate": "rate", "over": "over", "off": "off"}[name]
    return other.get(role, 0.0) > 0.3 and max(other.values(), default=0.0) <= other.get(role, 0.0)


def left_out(slots: Slots) -> list[str]:
    """Numbers that played no part, said back so that nothing is dropped unseen."""
    return [s.amount.text for s in slots.unused() if s.amount.text not in ("a day", "one day", "each day", "per day")]
