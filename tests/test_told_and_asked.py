"""What is told beside a question reaches its place: floors for the writers whose parts the weights were fitted on.

How it fares with writers whom they have never met is measured apart (tests/told_and_asked.py tests/unseen/told_parts).
"""

from __future__ import annotations

import json
import re
from collections import Counter
from pathlib import Path

import pytest
from told_and_asked import counted, is_right
from told_composer import ROLES
from told_further import Further
from told_scenes import Scenes

from assistant.hear import hear
from assistant.language.number_roles import likely_roles, shares_of, weights
from assistant.numbers.said import said

TESTS = Path(__file__).parent
PARTS, UNSEEN = TESTS / "told_parts", TESTS / "unseen" / "told_parts"
FILES = sorted([*PARTS.rglob("*.jsonl"), *UNSEEN.rglob("*.jsonl")])  # asides and tells as well
LEAST_RIGHT, MOST_WRONG, MOST_ALARMS = 0.75, 0.04, 0.03


@pytest.mark.parametrize("file", FILES, ids=lambda file: str(file.relative_to(TESTS)))
def test_each_part_holds_its_places_and_no_other(file: Path) -> None:
    rows = [json.loads(line) for line in file.read_text("utf-8").splitlines()]
    held = [(row["part"], sorted(re.findall(r"\{(\w+)\}", row["text"]))) for row in rows]
    assert [(part, names) for part, names in held if names != sorted(ROLES.get(part, {}))] == []


@pytest.mark.parametrize(("kind", "seed"), [(Scenes, 5), (Further, 6)])
def test_what_is_told_reaches_its_place(kind: type[Scenes], seed: int) -> None:
    total: Counter[str] = sum(counted(kind(PARTS, (), seed), 150).values(), Counter())
    turns = total.total()
    assert total["right"] >= LEAST_RIGHT * turns, total
    assert total["wrong"] <= MOST_WRONG * turns, total
    assert total["alarm"] <= MOST_ALARMS * turns, total


def test_a_figure_is_judged_by_its_value() -> None:
    assert is_right(100.4, 100) and not is_right(101, 100)
    assert is_right(True, True) and not is_right(False, True)


def test_the_shares_of_a_number_are_those_of_every_run() -> None:
    heard = hear("250 in the first and 180 in the second, how much is that")
    first = likely_roles(heard)
    shares_of.cache_clear()
    assert likely_roles(heard) == first
    assert {role for role, _ in first} <= set(weights().roles)


@pytest.mark.parametrize(("text", "roles"), [
    ("pump went on at 21:10, it's running at 64 and 240 is still in the bag", ["start", "rate", "left"]),
    ("hung 560, 180 has gone in so far and it goes at 60 an hour", ["hung", "given", "rate"]),
    ("feed began at 20:45, we paused it at 22:10 and put it back on at 22:40, 72 an hour",
     ["start", "went_off", "came_back", "rate"]),
])
def test_each_number_of_several_has_its_role(text: str, roles: list[str]) -> None:
    """Common practice, no source: how people tell a feed."""
    assert [max(one.roles, key=lambda name: one.roles[name]) for one in said(hear(text)).spoken] == roles


def test_a_number_alone_in_few_words_is_left_to_the_words() -> None:
    assert all(one.likely == "" for one in said(hear("and at 60?")).spoken)
