"""Acts and their numbers: however a night is laid out, the same acts with the same times, or none (common practice)."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.act_times import KIND
from assistant.actions.log_told import _named
from assistant.acts import acts_told
from assistant.hear import hear
from assistant.put_right import INTENT
from assistant.said import said
from assistant.turns import ACT_INTENT
from knowledge.library import table

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
    ("flushed 30 at 9 pm and 40 at 11 pm", []),             # whose is the second 40? the caller asks
    ("on at 9 pm, 17 of them, off at 10 pm", []),           # a number without a place
    ("back on 110", []),                                    # a rate or ten past one
    ("flushed 30 at 9 pm and another 40 at 11 pm", ["flush", "flush"]),
    ("off from ten to one until twenty past one", ["off"]),
    ("the light went off and the telly is on", ["off", "on"]),  # named, but without a time: nothing is written of it
])
def test_what_fits_and_what_does_not(told: str, acts: list[str]) -> None:
    found = acts_told(said(hear(told)))
    assert [act.what for act in found] == acts, found
    assert all(act.clock for act in found) or not any(act.clock for act in found)


def test_every_act_of_the_list_has_an_entry_a_question_and_a_name() -> None:
    for what in set(table("acts_en")["acts"]) - {"more"}:
        assert what in ACT_INTENT and _named(what), what
        assert what in ("on", "off", "hang") or KIND[what] in INTENT, what
