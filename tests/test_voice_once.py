"""A recogniser that writes a sentence twice over is heard once; what a person repeats is kept."""

from __future__ import annotations

import pytest

from assistant.voice.mended import mended


@pytest.mark.parametrize(
    ("written", "heard"),
    [
        ("how long will it last, how long will it last", "how long will it last,"),
        ("How much is left? how much is left", "How much is left?"),
        ("no no no no", "no no no no"),
        ("flush ten flush ten", "flush ten flush ten"),
        ("how long will 300 last how long will 400 last", "how long will 300 last how long will 400 last"),
    ],
)
def test_written_twice_is_heard_once(written: str, heard: str) -> None:
    assert mended(written) == heard
