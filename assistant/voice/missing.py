"""A part of the voice that is not there: one line on what, and how to get it."""

from __future__ import annotations

from typing import Any

from knowledge.library import table


class Missing(Exception):
    """A model, voice, package or device that is needed and is not there. `str` is the line for people."""

    def __init__(self, code: str, **facts: Any) -> None:
        self.code = code
        super().__init__(str(table("voice_en")["missing"][code]).format(**facts))
