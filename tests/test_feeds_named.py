"""Which of a plan's feeds the words name: a feed called "day" is not named by a whole day."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from plan_texts import SMALLEST

from assistant.household import read_plan
from assistant.night import Night

TWO = SMALLEST.split("[[feeds]]", maxsplit=1)[0] + """\
[[feeds]]
name = "day"
method = "pump"
start = "10:00"
rate = "30 mL/h"
volume = "240 mL"
[[feeds]]
name = "night"
method = "pump"
start = "21:00"
rate = "30 mL/h"
volume = "300 mL"
"""


@pytest.fixture
def night(tmp_path: Path) -> Night:
    source = tmp_path / "plan.toml"
    source.write_text(TWO, encoding="utf-8")
    return Night(read_plan(source), datetime.datetime(2026, 11, 26, 9, tzinfo=datetime.UTC))


@pytest.mark.parametrize("text", ["the water of one day", "milk of a whole day", "3 days of it", "all day long"])
def test_a_whole_day_names_no_feed(night: Night, text: str) -> None:
    assert night.feeds_named(text) == ()


@pytest.mark.parametrize("text", ["the day feed", "how much is left of the day one", "day and night, how much"])
def test_the_feed_of_the_day_is_named(night: Night, text: str) -> None:
    assert night.feeds_named(text)[0].name == "day"
