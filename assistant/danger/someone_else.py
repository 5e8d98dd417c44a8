"""Is the danger about somebody who is not in the care plan? Then the plan's person lends it no notes and no levels."""

from __future__ import annotations

from dataclasses import replace

from assistant.follow.turns import pattern
from assistant.night import Night


def as_told_of(text: str, night: Night) -> Night:
    """The night as it counts for the one who is told of: without the plan person's notes, tube and route.

    "My neighbour has collapsed", "my grandson ate a battery" where the plan is a grandmother's: the numbers to call
    stay, what holds for the plan's person does not.
    """
    plan = night.plan
    if plan is None:
        return night
    grown = plan.person.age_group_on(night.today) == "adult"
    if not (pattern("stranger").search(text) or pattern("child_of" if grown else "elder_of").search(text)):
        return night
    person = replace(plan.person, notes=frozenset(), born=None, age_group=None)
    return replace(night, plan=replace(plan, person=person, tube=replace(plan.tube, placed=None), route="gastrostomy"))
