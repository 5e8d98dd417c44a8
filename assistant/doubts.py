"""What must be asked before a sum is done: unread numbers, easily misheard ones, two numbers for one slot."""

from __future__ import annotations

import re
from decimal import Decimal

from assistant.hear import digit_by_digit, misheard
from assistant.language.spelling import familiar
from assistant.message import Reading
from assistant.said import Spoken
from assistant.slots import Slots
from assistant.wants import Ask
from rules.quantity import Quantity, is_amount, number, qty, unit_of

RIVALS = {"volume": "volume", "rate": "rate", "over": "time", "off": "time"}


def doubts(slots: Slots) -> None:
    """Raise Ask where a number of the message is not surely what the sum would take it for."""
    unread = [u for u in slots.said.heard.unread if not _elsewhere(u, slots.said.lower)]
    if unread:
        raise Ask("which_number", code="unread", unread=", ".join(unread))
    for spoken in slots.spoken.values():
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
    _unclaimed(slots)


def _of_something_else(spoken: Spoken, after: tuple[str, ...]) -> bool:
    """Is a bare number counted in things that are no part of feeding?"""
    return bool(after) and spoken.amount.readings[0].kind == "number" and _is_foreign_plural(after[0])


def _is_foreign_plural(word: str) -> bool:
    return len(word) > 3 and word.isalpha() and word.endswith("s") and word not in familiar()


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


MATTERS = frozenset({"volume", "rate", "energy", "density", "percent", "drop_factor"})
ROLES = ("rate", "left", "hung", "given", "total", "flush", "goal", "container")
COUNTED = frozenset({"container", "bottle", "bag", "meal", "scoop", "syringe", "jug"})


COMPARED = re.compile(r"\b(?:(?:more|less|fewer) than|over|under|enough|need|or)$")


def compared(spoken: Spoken) -> bool:
    """ "Do I need one box or two", "is that more than 2 cartons": a number that the answer is held against."""
    return bool(COMPARED.search(spoken.before) or re.match(r"(?:or|enough)\b", spoken.after))


def _unclaimed(slots: Slots) -> None:
    """An amount of feed that was said and plays no part, while the plan filled a slot: asked about, not dropped."""
    lost = []
    for spoken in slots.unused():
        if spoken.roles.get("noise", 0.0) > 0.9 or spoken.roles.get("weight", 0.0) > 0.9:
            continue
        reading = spoken.amount.readings[0]
        if reading.kind == "count" and reading.unit in COUNTED:
            lost += [] if compared(spoken) else [spoken.amount.text]
            continue
        strong = max((spoken.roles.get(r, 0.0) for r in ROLES), default=0.0)
        said_before = any(
            is_amount(u.value) and reading.kind in MATTERS and _same(reading, u.value) for u in slots.used.values()
        )
        if not said_before and (
            reading.kind in MATTERS
            or (
                reading.kind == "number"
                and isinstance(reading.value, Decimal)
                and reading.value >= 20
                and strong >= 0.9
            )
        ):
            lost.append(spoken.amount.text)
    if lost:
        raise Ask("which_number", code="unclaimed", numbers=", ".join(lost))


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
