"""A feed called by its hour is the plan's feed that is due then; an hour of anything else stays an hour."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.clauses.feed_hours import with_feed_names
from assistant.household.care_plan import read_plan

FEEDS = read_plan(Path("demo/adult_syringe.toml")).feeds  # 07:45, 12:30, 18:15, 21:45


@pytest.mark.parametrize(
    ("said", "meant"),
    [
        ("how much for the half past seven feed", "how much for the breakfast feed"),
        ("syringes for the 6 pm one", "syringes for the dinner feed"),
        ("how many 4 mums 12oclock", "how many for mums lunch feed"),
        ("Her 12 o'clock bolus went in", "Her lunch bolus went in"),
        ("her ten o'clock is late", "her supper feed is late"),
    ],
)
def test_an_hour_that_names_a_feed(said: str, meant: str) -> None:
    assert with_feed_names(said, FEEDS) == meant


@pytest.mark.parametrize(
    "said",
    [
        "it's 12 o'clock, how much is left",
        "the 12 o'clock flush",
        "the 3 o'clock feed",  # none is due near it
        "the 6 am feed",  # told to be of the morning: the one near six is in the evening
        "the 12 feed",  # an amount, perhaps
        "remind me at the 6 o'clock one",
        "her bath is at 6 o'clock",
    ],
)
def test_an_hour_that_names_none_stays(said: str) -> None:
    assert with_feed_names(said, FEEDS) == said
