"""Where the words and the weights (weighed_roles.py) do not agree what a number is, it is asked about, not counted."""

from __future__ import annotations

import re
from decimal import Decimal

from assistant.numbers.beside_the_point import harmless, said_again
from assistant.numbers.spoken import Spoken
from assistant.numbers.wants import Ask, measure
from assistant.numbers.weighed_roles import ADDED_UP, AMOUNTS, LEFT, LEFT_OUT, WHOLE
from assistant.slots import Slots
from rules.quantity import is_amount

#: sums of what runs in
OF_A_RUN = frozenset({"bag_duration", "finish_at", "start_by", "delivered", "remaining", "rate_needed", "catch_up"})
#: what the weights may hold a number for that a sum has taken for a slot; anything else is asked about
HOLDS = {
    "start": ("start", "came_back"), "by": ("finish", "ended"), "finish": ("finish",), "rate": ("rate",),
    "now": ("clock_now",),
    "volume": ("left", "hung", "total"), "total": ("hung", "left", "total"), "still": ("left",),
    "given": ("given", "at_a_feed"), "ago": ("ago", "over"), "over": ("over", "ago"), "late": ("late",),
}
ROLES_OF_A_RUN = (
    "rate", "hung", "left", "given", "off", "start", "finish", "ended", "went_off", "came_back", "total", "over", "ago",
    "late", "missed_amount",
)
COUNTS_IN = dict.fromkeys(OF_A_RUN, ROLES_OF_A_RUN) | {"delivered": (*ROLES_OF_A_RUN, "at_a_feed")} | dict.fromkeys(
    ("energy", "protein", "intake", "water"), ("given", "left", "hung", "at_a_feed", "total")) | {
        "syringe": ("total", "syringe"), "containers": ("total",), "per_kg": ("total",)}


def held_otherwise(slots: Slots, question: str) -> None:
    """Ask, where the words and the weights do not agree what a number is that the sum counts with."""
    alone = bool(slots.carried) and len(slots.said.spoken) == 1  # "what if she only had 300 of it": a value moved
    for name, spoken in slots.spoken.items():
        if name not in slots.used:
            continue
        held = HOLDS.get(name, (spoken.likely,))
        outright = max((spoken.roles.get(role, 0.0) for role in held), default=0.0) >= WHOLE
        other = question in OF_A_RUN and not alone and not outright and spoken.likely not in ("", *held)
        if other or _of_something_else(spoken, name, slots):
            raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)


def _of_something_else(spoken: Spoken, name: str, slots: Slots) -> bool:
    """A number without a unit that the words hardly speak for, and the weights hold for another story."""
    first, night = spoken.amount.readings[0], slots.night
    if name not in OF_FEED or first.value in (*night.ordered_volumes, *night.ordered_rates):
        return False
    bare = first.kind == "number" and name != slots.favours and not slots.carried
    return bare and spoken.aside >= ANOTHER_STORY and max(spoken.roles.values(), default=0.0) <= A_WORD


#: slots of a sum that the plan or the clock may fill, what a number for them is, and how far from it one may be
PLANNED = {
    "rate": ("rate", Decimal("0.5"), Decimal(2)),
    "volume": ("volume", Decimal("0.15"), Decimal(2)),
    "total": ("volume", Decimal("0.15"), Decimal(2)),
    "planned": ("volume", Decimal("0.15"), Decimal(2)),
}
TENFOLD = frozenset({Decimal(10), Decimal(100), Decimal(1000), Decimal("0.1"), Decimal("0.01")})
HOURS = {"start": ("clock", "care plan"), "opened": ("feed log",)}


TO_COME = re.compile(
    r"\b(?:deliver\w*|order\w*|com(?:es|ing)|arriv\w*|due|another|more|extra|box(?:es)?|cases?|packs?)\b"
)
OF_FEED = frozenset({"volume", "total", "given", "still", "planned", "rate", "missed"})
A_WORD = 1.0  # how strongly a single word beside a number speaks, at most
ANOTHER_STORY = 0.6  # the share from which a number that hardly any word speaks for is asked about
PLAINLY = 0.9  # how plainly an amount is said to be left
RATHER = 0.65  # how sure the weights must be of a number that no part of the sum has claimed
#: sums with which nothing counts that is of the feed and none of its roles
APART_FROM = OF_A_RUN | {"discard_at", "opened_until"}


def likely_aside(spoken: Spoken, question: str) -> bool:
    """Is a number that nothing claimed likelier of another story than of any part of the sum?"""
    if question == "supply" and TO_COME.search(f"{spoken.before} # {spoken.after}"):
        return False  # "and a delivery of 40 on Monday"
    if question in ADDED_UP and spoken.amount.readings[0].kind in AMOUNTS:
        return False
    hour = spoken.reading("clock") is not None  # "and the increase came at eight" is of the feed, and changes what ran
    return (spoken.apart if question in APART_FROM and not hour else spoken.aside) >= RATHER


def plan_instead(slots: Slots, question: str) -> None:
    """Ask, where a number is left out by the weights alone, and the plan's value or the clock's stands in the sum for
    which it might be meant: "the nurse OK'd 70 for tonight only", of a feed ordered at 64."""
    for spoken in slots.unclaimed():
        left = LEFT in spoken.roles
        if spoken.roles.get(LEFT, spoken.roles.get("noise", 0.0)) >= WHOLE:
            continue  # the words themselves say that it is of something else: "£310"
        if not (left or likely_aside(spoken, question)) or (said_again if left else harmless)(spoken, slots):
            continue
        if _an_hour_instead(slots, spoken, question) or _an_amount_instead(slots, spoken):
            raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)


def _an_hour_instead(slots: Slots, spoken: Spoken, question: str) -> bool:
    if spoken.reading("clock") is None or spoken.aside >= LEFT_OUT:
        return False
    if question == "pour" and "start" in slots.spoken and "finish" not in slots.used:
        return True  # "enough from nine till I am up at one"
    told = slots.spoken.get("volume")
    if told is not None and told.roles.get("left", 0.0) > max(PLAINLY, told.roles.get("hung", 0.0)):
        return False  # what is left is left now, whenever it was started
    return any(name in slots.used and slots.used[name].origin in origins for name, origins in HOURS.items())


def _an_amount_instead(slots: Slots, spoken: Spoken) -> bool:
    for name, (kind, least, most) in PLANNED.items():
        used, reading = slots.used.get(name), spoken.reading(kind, "number")
        # "70 until eleven, and it's been 88 since": a rate that is left out beside another is asked about as well
        if used is None or (used.origin != "care plan" and name != "rate") or reading is not spoken.amount.readings[0]:
            continue
        ratio = measure(kind, reading, slots.night) / used.value
        times = Decimal(ratio.m_as(""))
        slipped = times in TENFOLD and (reading.kind != "number" or times > 1)  # "3.75 litres", where 375 mL is ordered
        if is_amount(used.value) and ((least <= times <= most and ratio != 1) or slipped):
            return True
    return False


def of_before(spoken: Spoken) -> bool:
    """ "Nudge it from 60 up to 75": the value of before, where the other is asked about."""
    bare = spoken.amount.readings[0].kind in ("number", "rate")
    return bare and spoken.before.endswith("from") and spoken.after.startswith(("to", "up to", "down to"))


def counts_in(spoken: Spoken, question: str) -> bool:
    """Do the weights hold a number for one that a sum counts with? Then it is not dropped unasked."""
    if of_before(spoken):
        return False
    return spoken.likely in COUNTS_IN.get(question, ())
