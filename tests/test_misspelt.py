"""Slips in the words that sums hang on are mended before anything is read; manners and sounds hide nothing."""

from __future__ import annotations

import pytest

from assistant.hear.plain import plain

MENDED = {
    "six hundred and fitfy over ten hours": "six hundred and fifty over ten hours",
    "thre hundred left at sevnty": "three hundred left at seventy",
    "7 hurs at 65": "7 hours at 65",
    "lnuch went in": "lunch went in",
    "paused 25 minuts, 2 cartos left": "paused 25 minutes, 2 cartons left",
    "um need six like hundred ml": "need six hundred ml",
    "he's 27 ehm kilos": "he's 27 kilos",
    "Hi there, stoma site red and skin broken what now": "stoma site red and skin broken what now",
    "it's coming up brown and bitty cheers x": "it's coming up brown and bitty",
    "I was just wondering, the site is bleeding": "the site is bleeding",
}
KEPT = (
    "put him on at nine oclock", "protein for the whole nite", "take him to the ER", "the site is mattery", "hello",
    "thank you", "i was wondering if the bag lasts", "morning feed took 200", "give 'er 60",
)


@pytest.mark.parametrize(("said", "meant"), MENDED.items())
def test_slips_sounds_and_manners(said: str, meant: str) -> None:
    assert plain(said) == meant


@pytest.mark.parametrize("said", KEPT)
def test_what_is_no_slip_stays(said: str) -> None:
    assert plain(said) == said
