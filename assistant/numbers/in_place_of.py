""" "60 tonight rather than 66", of a feed ordered at 66: the number that takes the place of an ordered rate is one.

So is what takes the place of an ordered amount ("only four fifty, not six hundred") the amount of the feed.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from assistant.night import Night, feed_rate
from assistant.numbers.number_pairs import beside
from assistant.numbers.spoken import Spoken
from rules.quantity import number

LEAST, MOST = Decimal("0.5"), Decimal(2)  # times the ordered rate or amount, which a number in its place may be
PLAIN = 2.0
NO_AMOUNT = ("left", "given", "hung", "rate", "noise", "container", "start", "finish", "clock_now")
NO_RATE = ("left", "given", "hung", "total", "noise", "container", "start")


def in_place_of(spoken: Sequence[Spoken], night: Night) -> tuple[Spoken, ...]:
    """The numbers, with the rate that is put in place of an ordered one heard as a rate; an hour of a start as none."""
    if all(rate > LAST_HOUR for rate in night.ordered_rates):
        for one in spoken:
            if _an_hour_begun(one):
                one.roles["rate"] = 0.0
    _amount_in_its_place(spoken, night)
    rates = [rate for rate in night.ordered_rates if any(_put_aside(one, rate) for one in spoken)]
    ordered = rates[0] if len(rates) == 1 else None
    if ordered is None:
        return tuple(spoken)
    near = [one for one in spoken if _bare(one) and LEAST <= _value(one) / ordered <= MOST and _value(one) != ordered]
    for one in near if len(near) == 1 else ():
        one.roles.update(dict.fromkeys(NO_RATE, 0.0) | {"rate": PLAIN})
    return tuple(spoken)


def _amount_in_its_place(spoken: Sequence[Spoken], night: Night) -> None:
    aside = {volume for volume in night.ordered_volumes if any(_put_aside(one, volume, "volume") for one in spoken)}
    ordered = aside.pop() if len(aside) == 1 else None
    pumped = {number(rate, "mL/h") for feed in night.feeds if feed.method == "pump" and (rate := feed_rate(feed))}
    if ordered is None or ordered in pumped:
        return
    told = [(one, reading.value) for one in spoken if (reading := one.reading("volume", "number")) is not None]
    near = [one for one, value in told if value != ordered and LEAST <= Decimal(value) / ordered <= MOST]
    for one in near if len(near) == 1 else ():
        one.roles.update(dict.fromkeys(NO_AMOUNT, 0.0) | {"total": PLAIN})


LAST_HOUR = 15  # a rate up to here may be a small child's


def _an_hour_begun(one: Spoken) -> bool:
    """ "What if I'd started at 8": where no rate is so small, an hour."""
    bare = one.reading("number")
    begun = one.before.endswith(("started at", "starting at", "start at", "began at", "begun at", "beginning at"))
    return begun and bare is not None and one.amount.readings[0].kind != "rate" and bare.value <= 12


def _put_aside(one: Spoken, ordered: Decimal, kind: str = "rate") -> bool:
    """ "... rather than 66", "and not 64": said to be what it is not to be."""
    first = one.amount.readings[0]
    return first.kind in (kind, "number") and first.value == ordered and bool(beside("denied").search(one.before))


def _bare(one: Spoken) -> bool:
    """Neither with a unit nor an hour, nor what goes in "in half an hour"."""
    timed = one.after.split()[:1] in (["in"], ["over"])
    return one.amount.readings[0].kind == "number" and one.reading("clock") is None and not timed


def _value(one: Spoken) -> Decimal:
    return Decimal(one.amount.readings[0].value)
