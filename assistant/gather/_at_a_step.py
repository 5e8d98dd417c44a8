"""The hour at which the rate was changed: an ordered step's, one that the log holds, or one to ask about."""

from __future__ import annotations

from assistant.numbers.wants import Ask
from assistant.slots import Slots


def at_a_step(slots: Slots) -> None:
    """ "The rate went up at eight": an ordered step's hour says nothing new; any other change is asked about."""
    for spoken in slots.said.spoken:
        if spoken.roles.get("changed", 0.0) <= PLAINLY or spoken in slots.spoken.values():
            continue
        clock, bare, plan = spoken.reading("clock"), spoken.reading("number"), slots.night.plan
        minutes = int(clock.value if clock is not None else bare.value * 60 if bare is not None else -1)
        steps = [s for s in (plan.steps if plan is not None else ())
                 if (s.start.hour * 60 + s.start.minute - minutes) % 720 == 0]
        if not steps and _by_the_log(slots, minutes):
            slots.spoken["changed"] = spoken  # the log says the same, with its rates
            continue
        if not steps:
            raise Ask("which_number", code="unclaimed", numbers=spoken.amount.text)
        slots.spoken["changed"] = spoken
        if "rate" in slots.spoken:  # "it went to 36 at ten": the ordered step's own rate, and no other
            if slots.used.pop("rate").value not in [s.rate for s in steps]:
                raise Ask("which_number", code="unclaimed", numbers=slots.spoken["rate"].amount.text)
            slots.spoken["step_rate"] = slots.spoken.pop("rate")


PLAINLY = 0.9  # how plainly an hour is said to be that of a change


def _by_the_log(slots: Slots, minutes: int) -> bool:
    """Does the log have the rate changed at about that hour?"""
    changes = (e.at for e in slots.night.events if e.kind == "rate_changed")
    off = [(at.hour * 60 + at.minute - minutes) % HALF_A_DAY for at in changes]
    return any(min(one, HALF_A_DAY - one) <= ABOUT for one in off)


HALF_A_DAY = 720  # minutes
ABOUT = 10
