"""A smallest and a whole care plan as text, and the faults found in one; for the tests of the care plan."""

from __future__ import annotations

import pytest

from assistant.household import PlanFaults, read_plan
from assistant.household.plan_faults import Fault

SMALLEST = """\
route = "gastrostomy"
timezone = "Europe/Oslo"
[formula]
energy = "1.1 kcal/mL"
[[feeds]]
method = "pump"
rate = "70 mL/h"
"""

GOOD = """\
route = "jejunostomy"
timezone = "Europe/Oslo"
units = "metric"
issued = 2026-04-01
review_by = 2026-10-01
[person]
nickname = "Lark"
born = 2015-02-03
weight = "31 kg"
[tube]
placed = 2026-01-15
[formula]
energy = "1.1 kcal/mL"
free_water = "82 %"
form = "powder"
recipe = {powder = "50 g", scoop = "10 g", water = "200 mL", makes = "240 mL"}
[[feeds]]
name = "night"
method = "pump"
start = "20:00"
rate = "70 mL/h"
volume = "700 mL"
over = "10 h"
[[feeds]]
name = "snack"
method = "syringe"
volume = "120 mL"
[limits]
lowest_rate = "50 mL/h"
highest_rate = "90 mL/h"
catch_up = {until = "07:00", highest_rate = "85 mL/h"}
[[steps]]
from = 2026-04-02T20:00:00
rate = "40 mL/h"
[[steps]]
from = 2026-04-09T20:00:00
rate = "70 mL/h"
[equipment]
bag = "800 mL"
priming_volume = "20 mL"
pump_highest_rate = "300 mL/h"
"""


def faults_of(text: str) -> list[Fault]:
    with pytest.raises(PlanFaults) as caught:
        read_plan(text)
    return caught.value.faults


def changed(old: str, new: str) -> str:
    assert GOOD.count(old) == 1, old
    return GOOD.replace(old, new)
