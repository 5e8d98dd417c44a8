"""What stands beside a message, and how it is typed, changes no figure: of a sample, hardly one comes out different."""

from __future__ import annotations

from collections import Counter

import pytest
import said_another_way
from said_another_way import WAYS, measure

SAMPLE = 60  # messages of tests/conversations; all of them: python tests/said_another_way.py
MOST_DIFFERENT, LEAST_SAME = 0.02, 0.85


@pytest.fixture(scope="module")
def counted() -> dict[str, Counter[str]]:
    return measure(7, SAMPLE)[0]


@pytest.mark.parametrize("way", WAYS)
def test_figures_stay(way: str, counted: dict[str, Counter[str]]) -> None:
    counts = counted[way]
    total = sum(counts.values())
    assert total > SAMPLE / 2 and counts["written"] == 0
    assert counts["different"] <= max(2, MOST_DIFFERENT * total) and counts["same"] >= LEAST_SAME * total


def test_a_changed_number_is_noticed() -> None:
    """The measure itself: another amount gives other figures."""
    another = {"another amount": lambda text, _: text.replace("300", "200").replace("72", "36")}
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(said_another_way, "WAYS", another)
        counts = measure(7)[0]["another amount"]
    assert counts["different"] > 10
