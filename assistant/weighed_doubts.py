"""Where the words and the weights (weighed_roles.py) do not agree what a number is, it is asked about, not counted."""

from __future__ import annotations

from decimal import Decimal

from assistant.slots import Slots
from assistant.spoken import Spoken
from assistant.wants import Ask
from assistant.weighed_roles import LEFT
from rules.quantity import is_amount

#: sums of what runs in
OF_A_RUN = frozenset({"bag_duration", "finish_at", "start_by", "delivered", "remaining", "rate_needed", "catch_up"})
#: what the weights may hold a number for that a sum has taken for a slot; anything else is asked about
HOLDS = {
    "start": ("start",), "by": ("finish", "ended"), "finish": ("finish",), "rate": ("rate",), "now": ("clock_now",),
    "volume": ("left", "hung", "total"), "total": ("hung", "left", "total"), "still": ("left",),
    "given": ("given", "at_a_feed"), "ago": ("ago", "over"), "over": ("over", "ago"), "late": ("late",),
}
ROLES_OF_A_RUN = (
    "rate", "hung", "left", "given", "off", "start", "finish", "ended", "went_off", "came_back", "total", "over", "ago",
    "late", "missed_amount",
)
COUNTS_IN = dict.fromkeys(OF_A_RUN, ROLES_OF_A_RUN) | dict.fromkeys(
    ("energy", "protein", "intake", "water"), ("given", "left", "hung", "at_a_feed", "total")) | {
        "syringe": ("total", "syringe"), "containers": ("total",), "per_kg": ("total",)}


def held_otherwise(slots: Slots, question: str) -> None:
    """Ask, where the words and the weights do not agree what a number is that the sum counts with."""
    for name, spoken in slots.spoken.items():
        if question in OF_A_RUN and name in HOLDS and name in slots.used and spoken.likely not in ("", *HOLDS[name]):
            raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)


PLANNED = {"rate": ("rate", "number"), "volume": ("volume", "number"), "total": ("volume", "number"),
           "planned": ("volume", "number")}
NEAR_THE_PLAN = (Decimal("0.5"), Decimal(2))


def plan_instead(slots: Slots) -> None:
    """Ask, where a number was left out by the weights alone, the plan's value stands in the sum, and the number might
    be meant for it: "the nurse OK'd 70 for tonight only", of a feed ordered at 64."""
    for spoken in slots.unused():
        first = spoken.amount.readings[0]
        for name, kinds in PLANNED.items() if LEFT in spoken.roles else ():
            used = slots.used.get(name)
            if used is None or used.origin != "care plan" or not is_amount(used.value) or first.kind not in kinds:
                continue
            ratio = Decimal(first.value) / used.value.magnitude if used.value.magnitude else Decimal(0)
            if NEAR_THE_PLAN[0] <= ratio <= NEAR_THE_PLAN[1] and ratio != 1:
                raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)


def counts_in(spoken: Spoken, question: str) -> bool:
    """Do the weights hold a number for one that a sum counts with? Then it is not dropped unasked."""
    return spoken.likely in COUNTS_IN.get(question, ())
