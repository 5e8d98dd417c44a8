"""Of the world outside tube feeding nothing is answered with a figure, in whatever words of ours it is asked."""

from __future__ import annotations

import pytest
from conftest import DEMO

from assistant.household.care_plan import read_plan
from assistant.session import Session, instant

PLAN = read_plan(DEMO / "child_overnight_pump.toml")
NOW = instant("2026-11-25T22:00", PLAN)

OUTSIDE = (
    "how many calories are in a slice of pizza",
    "calories in two scoops of vanilla ice cream",
    "what time is it in lisbon",
    "can you tell me the time please",
    "when is my next payday",
    "how many vacation days have i got left",
    "when does my flight start boarding",
    "what's the most i can put on my credit card",
)
OURS = (
    "how many calories in the overnight",
    "how many calories is that, she had an egg as well, 300 of the night feed went in",
    "what time is the feed done",
    "how many days have i got left of cartons before our holiday",
    "when do i have to put the order in",
)


@pytest.mark.parametrize("said", OUTSIDE)
def test_of_the_world_there_is_no_figure(said: str) -> None:
    record = Session(PLAN).say(said, NOW)
    assert not record["figures"] and record["outcome"] != "done"


@pytest.mark.parametrize("said", OURS)
def test_of_a_feed_beside_the_world_there_is_an_answer(said: str) -> None:
    record = Session(PLAN).say(said, NOW)
    assert record["intent"] != "out_of_scope" and record["outcome"] in ("answered", "asked_back")
