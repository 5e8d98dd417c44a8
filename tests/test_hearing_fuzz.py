"""Whatever is typed or misheard: no failure, no number dropped, the same every time."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.hear import _hear, hear, resolve
from assistant.hear.lexicon import lexicon
from assistant.hear.plain import plain
from rules.outcome import CannotAnswer

NOW = datetime(2026, 11, 25, 2, 10, tzinfo=ZoneInfo("America/Denver"))
LEX = lexicon()
WORDS = sorted(
    set(LEX.number)
    | LEX.unit.firsts()
    | LEX.triggers
    | LEX.not_amount.firsts()
    | LEX.part.firsts()
    | {word for words in LEX.lists.values() for word in words}
    | set(LEX.mixed)
)
LOOSE = [
    "7",
    "12",
    "20",
    "78",
    "250",
    "1092",
    "0600",
    "2115",
    "9.15",
    "7.8",
    ".5",
    "1,092",
    "1,5",
    "6.5.3",
    "21:15",
    "1/2",
    "24/7",
    "29/11",
    "120/80",
    "14th",
    "-5",
    "2x250",
    "78ml/hr",
    "3pm",
    "1h30",
    "1e5",
    "6-8",
    "10-7",
    "000",
    "12345678901234567890",
    "@78",
    "250s",
    "9ish",
    "2026-11-29",
    "%",
    "/",
    "-",
    ".",
    ",",
    "?",
    "'",
    "R's",
    "left",
    "bag",
    "with",
    "nurse",
    "½",
    "١٢",
]
SOUPS = st.lists(st.one_of(st.sampled_from(WORDS), st.sampled_from(LOOSE)), max_size=14).flatmap(
    lambda words: st.sampled_from([" ", " ", " ", ""]).map(lambda gap: gap.join(words))
)


def _dropped(text: str) -> list[str]:
    """Tokens that are digits or number words and were neither read, nor listed as unread, nor known to be no amount."""
    heard, passed = _hear(text)
    claimed = set(passed)
    for amount in heard.amounts:
        claimed.update(range(amount.start, amount.end))
    unread = " ".join(heard.unread).lower()
    return [
        token
        for i, token in enumerate(heard.tokens)
        if (token[0].isdigit() or (token in LEX.number and token not in ("oh", "o")))
        and i not in claimed
        and token not in unread
    ]


@settings(max_examples=600, deadline=None)
@given(SOUPS)
def test_no_number_is_dropped(text: str) -> None:
    assert _dropped(text) == []


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=80))
def test_nothing_that_is_typed_makes_it_fail(text: str) -> None:
    assert _dropped(text) == []


@settings(max_examples=200, deadline=None)
@given(SOUPS)
def test_amounts_stand_in_order_and_do_not_overlap(text: str) -> None:
    heard = hear(text)
    assert heard == hear(text)
    at = 0
    for amount in heard.amounts:
        assert at <= amount.start < amount.end <= len(heard.tokens)
        assert amount.readings and len(set(amount.readings)) == len(amount.readings)
        at = amount.end


@settings(max_examples=200, deadline=None)
@given(SOUPS)
def test_no_amount_is_negative_and_every_clock_is_on_the_dial(text: str) -> None:
    for amount in hear(text).amounts:
        for reading in amount.readings:
            if isinstance(reading.value, Decimal):
                assert reading.value >= 0
            if reading.kind == "clock":
                most = 60 if reading.unit == "hand" else 1440  # "five past": a minute of any hour
                assert 0 <= reading.value < most and reading.unit in ("12h", "24h", "hand")


@settings(max_examples=200, deadline=None)
@given(
    SOUPS,
    st.sampled_from(["past", "future", "nearest"]),
    st.sampled_from([None, "today", "tonight", "tomorrow", "last night", "sunday", "14", "--03-14"]),
)
def test_every_time_heard_can_be_placed(text: str, when: str, day: str | None) -> None:
    for amount in hear(text).amounts:
        for reading in amount.readings:
            if reading.kind == "clock":
                try:
                    found = resolve(reading, NOW, when, day)
                except CannotAnswer as refusal:
                    assert refusal.code == "no_such_time"
                    continue
                assert found and all((each.hour * 60 + each.minute - reading.value) % 720 == 0 for each in found)


@given(st.integers(1, 5000), st.sampled_from(["mL", "ml/h", "hours", "cartons", "kcal", "%"]))
def test_a_plain_amount_is_read_exactly(value: int, unit: str) -> None:
    amounts = hear(f"give {value} {unit} please").amounts
    assert len(amounts) == 1 and (
        amounts[0].readings[0].value == Decimal(value) or (unit == "hours" and amounts[0].readings[0].kind == "clock")
    )


def test_a_digit_of_any_kind_is_a_digit() -> None:
    """What Python calls a digit is one of 0 to 9 for us: a digit circled twice once made an error."""
    assert plain("\u24f5\u0663 \uff17") == "13 7"
    assert [r.value for a in hear("\u24f5").amounts for r in a.readings] == [1]
