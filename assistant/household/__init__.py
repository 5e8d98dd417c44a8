"""One household: its care plan, feed log, conversations and reminders.

    from assistant.household import read_plan, PlanFaults, warnings

Importing this loads neither Pint nor sqlite-utils; reading a plan loads Pint, opening the records sqlite-utils.
"""

from assistant.household.care_plan import CarePlan, Feed, RateStep, read_plan, warnings
from assistant.household.plan_faults import Fault, PlanFaults

__all__ = ["CarePlan", "Fault", "Feed", "PlanFaults", "RateStep", "read_plan", "warnings"]
