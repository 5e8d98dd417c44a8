"""What people say, and every number that must be heard in it.

Notation of tests/hearing/*.toml: one string an amount, in order: "kind value unit"; further fair readings after "|";
"~" in front where it was said to be rough; ".. n" behind for the second number of a range; "unread ..." for words
to be asked about.
"""

from __future__ import annotations

import tomllib
from decimal import Decimal
from pathlib import Path

import pytest

from assistant.hear import hear
from assistant.message import Amount, Reading

FILES = sorted(Path(__file__).with_name("hearing").glob("*.toml"))
CASES = [
    pytest.param(*case, id=f"{path.stem}: {case[0]}")
    for path in FILES
    for case in tomllib.loads(path.read_text(encoding="utf-8"))["cases"]
]


def written(reading: Reading) -> str:
    value = reading.value
    if reading.kind == "clock":
        value = f"{value // 60:02}:{value % 60:02}"
    elif isinstance(value, Decimal):
        value = f"{value.normalize():f}"
    unit = "" if reading.kind in ("day", "date") else reading.unit
    return f"{reading.kind} {value} {unit}".strip()


def noted(amount: Amount) -> str:
    rough = "~ " if amount.about else ""
    upper = "" if amount.upper is None else f" .. {amount.upper.normalize():f}"
    return rough + " | ".join(map(written, amount.readings)) + upper


@pytest.mark.parametrize(("said", "expected"), CASES)
def test_every_number_is_heard_as_meant_or_asked_about(said: str, expected: list[str]) -> None:
    heard = hear(said)
    found = [noted(amount) for amount in heard.amounts] + [f"unread {words}" for words in heard.unread]
    assert found == expected


def test_there_are_enough_sentences() -> None:
    assert len(CASES) >= 250


def test_an_amount_names_its_tokens_and_its_words() -> None:
    heard = hear("Run it at 62 mL/h until half past six, Nell")
    rate, time = heard.amounts
    assert heard.tokens[rate.start : rate.end] == ("62", "ml", "/", "h")
    assert rate.text == "62 mL/h" and not rate.in_words
    assert heard.tokens[time.start : time.end] == ("half", "past", "six")
    assert time.text == "half past six" and time.in_words


def test_values_are_decimal_never_float() -> None:
    for case in CASES:
        for amount in hear(str(case.values[0])).amounts:
            for reading in amount.readings:
                assert (
                    isinstance(reading.value, str)
                    if reading.kind in ("day", "date")
                    else isinstance(reading.value, int if reading.kind == "clock" else Decimal)
                )
