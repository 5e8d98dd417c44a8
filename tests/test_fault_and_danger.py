"""A fault in a later station hides no danger: the card is given; without one, the fixed sentence with whom to call."""

from __future__ import annotations

from typing import Any

import pytest
from conftest import DEMO

from assistant import answer
from assistant.household.care_plan import read_plan
from assistant.session import Session, instant
from assistant.wording import asking


def _said(text: str, monkeypatch: pytest.MonkeyPatch, *broken: str) -> dict[str, Any]:
    def fails(*_: object, **__: object) -> object:
        raise RuntimeError("a fault of ours")

    for name in broken:
        monkeypatch.setattr(answer, name, fails)
    plan = read_plan(DEMO / "child_overnight_pump.toml")
    return Session(plan).say(text, instant("2026-11-25T02:20", plan))


@pytest.mark.parametrize("broken", ("_parts", "noted", "worrying", "told_acts", "_reply"))
def test_danger_is_given_whatever_fails_after_it(broken: str, monkeypatch: pytest.MonkeyPatch) -> None:
    record = _said("she's not breathing, how much is left?", monkeypatch, broken)
    assert record["level"] == "emergency" and record["card"] == "cant_breathe" and "911" in record["text"]


@pytest.mark.parametrize("broken", (("decide",), ("decide", "triage")))
def test_without_a_danger_the_fixed_sentence(broken: tuple[str, ...], monkeypatch: pytest.MonkeyPatch) -> None:
    assert asking.is_fault(_said("how much is left?", monkeypatch, *broken))
