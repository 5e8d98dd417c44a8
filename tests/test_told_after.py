"""A remark right after a sum, with a number in it that is near one of the sum's values, gives no other figure."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from conftest import DEMO

from assistant.household.care_plan import read_plan
from assistant.session import Session

NOW = datetime(2026, 11, 25, 21, 10, tzinfo=ZoneInfo("America/Halifax"))
REMARKS = (
    "her nan is 84 today", "the 73 bus is late again", "room is 21 degrees, lovely", "I'm 77 you know",
    "house number 290 if the nurse comes", "the telly says 65 percent chance of rain", "my sister rang at half ten",
    "the nurse is due at ten", "physio comes at nine in the morning", "the match is on at eight",
    "Dad gets home at ten",
    "bus is at half eight", "the neighbour has 80 hens", "my phone is at 70 percent", "we did 320 miles today",
)


@pytest.mark.parametrize("sum_asked", ["300 in the bag at 75, how long?", "when does 648 finish from nine at 72"])
@pytest.mark.parametrize("remark", REMARKS)
def test_a_remark_changes_no_figure(sum_asked: str, remark: str) -> None:
    session = Session(read_plan(DEMO / "child_overnight_pump.toml"))
    first = session.say(sum_asked, NOW)
    after = session.say(remark, NOW)
    assert first["figures"]
    assert not after["figures"] or after["figures"] == first["figures"], after["text"]
