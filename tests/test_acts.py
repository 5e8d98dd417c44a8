"""Acts and their numbers: however a night is laid out, the same acts with the same times, or none (common practice)."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.actions.log_told import _named
from assistant.follow.turns import ACT_INTENT
from assistant.hear import hear
from assistant.numbers.said import said
from assistant.told import acts, acts_fit
from assistant.told.act_times import KIND
from assistant.told.acts import acts_told
from assistant.told.acts_places import places
from assistant.told.put_right import INTENT
from knowledge.library import table

WORDS = (
    "flushed", "off", "on", "poured", "9", "10", "40", "2140", "20 minutes", "72 mL/h", "at", "until", ",", ".", "and",
)
ACTS = ("started", "off", "back on", "off", "back on", "finished")
LAYOUTS = {
    "time first": "{clock} {act}", "time last": "{act} {clock}",
    "at": "{act} at {clock}", "at, first": "at {clock} {act}",
}
BORDERS = (", ", ". ", "\n", ", then ", " and ")


def read(text: str) -> list[tuple[str, int | None]]:
    same = {"on": "resume"}
    return [(same.get(a.what, a.what), int(a.clock.value) if a.clock else None) for a in acts_told(said(hear(text)))]


@st.composite
def nights(draw: st.DrawFn) -> list[tuple[str, int]]:
    """Two to six acts of one night, each later than the one before it, from 13:00 on: no time reads two ways."""
    count = draw(st.integers(2, 6))
    minutes = sorted(draw(st.sets(st.integers(13 * 60, 24 * 60 - 1), min_size=count, max_size=count)))
    return list(zip(ACTS, minutes, strict=False))


@pytest.mark.parametrize("layout", LAYOUTS)
@given(night=nights(), border=st.sampled_from(BORDERS))
@settings(max_examples=60, deadline=None)
def test_a_night_in_any_layout_is_the_same_night(layout: str, night: list[tuple[str, int]], border: str) -> None:
    told = border.join(LAYOUTS[layout].format(act=act, clock=f"{m // 60}:{m % 60:02}") for act, m in night)
    wanted = [({"started": "start", "back on": "resume", "finished": "stop"}.get(act, act), m) for act, m in night]
    assert read(told) == wanted, told


@given(night=nights())
@settings(max_examples=60, deadline=None)
def test_four_digits_without_marks_are_the_same_night(night: list[tuple[str, int]]) -> None:
    first = " ".join(f"{m // 60:02}{m % 60:02} {act}" for act, m in night)
    last = " ".join(f"{act} {m // 60:02}{m % 60:02}" for act, m in night)
    assert [minutes for _, minutes in read(first)] == [m for _, m in night], first
    assert [minutes for _, minutes in read(last)] == [m for _, m in night], last


@pytest.mark.parametrize(("told", "acts"), [
    ("flushed 30 at 9 pm and 40 at 11 pm", ["flush", "flush"]),
    ("flushed 30 at 8am, noon and 6", ["flush", "flush", "flush"]),
    ("off 9 pm to 9.20 and 10 to 10.15", ["off", "off"]),
    ("paused 9 pm to 9.20 and 10 pm", []),                  # when did the second end?
    ("on at 9 pm, 17 of them, off at 10 pm", []),           # a number without a place
    ("back on 110", []),                                    # a rate or ten past one
    ("flushed 30 at 9 pm and another 40 at 11 pm", ["flush", "flush"]),
    ("off from ten to one until twenty past one", ["off"]),
    ("the light went off and the telly is on", []),         # of other things in the house
])
def test_what_fits_and_what_does_not(told: str, acts: list[str]) -> None:
    found = acts_told(said(hear(told)))
    assert [act.what for act in found] == acts, found
    assert all(act.clock for act in found) or not any(act.clock for act in found)


def test_every_act_of_the_list_has_an_entry_a_question_and_a_name() -> None:
    for what in set(table("acts_en")["acts"]) - {"more"}:
        assert what in ACT_INTENT and _named(what), what
        assert what in ("on", "off", "hang") or KIND[what] in INTENT, what


def every_way(found: list[acts_fit.Found], numbers: list[acts.Number], tokens: tuple[str, ...]) -> list[float]:
    """What each way to give all numbers a place costs, tried one by one."""
    ways: list[tuple[float, list[tuple[int, str]]]] = [(0.0, [])]
    ends = table("acts_en")["words"]["until"]
    for number in numbers:
        before = max((i for i, one in enumerate(found) if one.start <= number.start), default=None)
        after = min((i for i, one in enumerate(found) if one.start > number.start), default=None)
        near = "between" in tokens[max(0, number.start - acts_fit.NEAR) : number.start]
        ways = [
            (cost + price + acts_fit._distance(found[at], number, numbers, tokens)
             + acts_fit._out_of_order(found, found[at], number, numbers, tokens), [*done, (at, slot)])
            for cost, done in ways for at in (before, after) if at is not None
            for slot, _, price in places(found[at].what, number, {s for to, s in done if to == at}, near)
            if slot != "until" or number.start >= found[at].start or number.lead in ends
        ]
    timed = [len({at for at, slot in done if slot in acts_fit.TIMING}) for _, done in ways]
    return sorted(cost + acts_fit.UNTIMED * (len(found) - n) for (cost, _), n in zip(ways, timed, strict=True))


@given(words=st.lists(st.sampled_from(WORDS), min_size=2, max_size=12))
@settings(max_examples=150, deadline=None)
def test_the_nearest_two_ways_are_the_nearest_of_all(words: list[str]) -> None:
    told = said(hear(" ".join(words)))
    found, numbers = acts._found(told), [acts.number_of(s, told) for s in acts._meant(told)]
    if found:
        nearest = [cost for cost, _ in acts_fit._nearest(found, numbers, told.heard.tokens)]
        assert nearest == pytest.approx(every_way(found, numbers, told.heard.tokens)[:2])


def test_a_long_list_of_numbers_and_acts_is_read_or_refused_at_once() -> None:
    told = " ".join(f"flushed {i} at {i % 12 + 1}" for i in range(1, 40))
    assert acts_told(said(hear(told))) == ()  # more numbers than one message is read for
