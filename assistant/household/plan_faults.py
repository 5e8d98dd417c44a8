"""What is wrong with a care plan: one Fault a finding, all of them together in PlanFaults."""

from __future__ import annotations

import difflib
import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any

from assistant.household.plan_words import sentence

LONGEST_FOUND = 60


@dataclass(frozen=True)
class Fault:
    """One thing wrong in one file.

    key         where: "feeds.2.rate" is the rate of the second feed; "" for the file as a whole
    found       what stands there, as it is written in TOML; "" where nothing does
    allowed     a sentence: what may stand there, with an example
    suggestion  what was probably meant, or None
    code        name of the sentence in knowledge/plan_questions_en.toml [faults]
    """

    file: str
    key: str
    found: str
    allowed: str
    suggestion: str | None = None
    code: str = ""

    def line(self) -> str:
        """The fault on one line."""
        shape = ("line_with" if self.found else "line_without") + ("_suggestion" if self.suggestion else "")
        where = self.key or sentence("faults", "whole_file")
        line = sentence("faults", shape, file=self.file, key=where, found=self.found, allowed=self.allowed,
                        suggestion=self.suggestion)
        return "".join(sign if sign.isprintable() else repr(sign)[1:-1] for sign in line)


class PlanFaults(Exception):
    """A care plan that cannot be used, with every fault that was found in it."""

    exit_code = 2

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults = list(faults)
        super().__init__(f"{len(self.faults)} faults in the care plan")

    def lines(self) -> list[str]:
        return [fault.line() for fault in self.faults]


class Wrong(Exception):
    """One value that cannot be read: the code of the sentence that says what may stand there, and its facts."""

    def __init__(self, code: str, *, suggestion: str | None = None, **facts: object) -> None:
        super().__init__(code)
        self.code = code
        self.suggestion = suggestion
        self.facts = facts


def as_written(value: Any) -> str:
    """A value as it stands in the file, on one line and not too long."""
    if isinstance(value, str):
        text = json.dumps(value, ensure_ascii=False)
    elif isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, datetime | date | time):
        text = value.isoformat()
    elif isinstance(value, dict):
        text = "{" + ", ".join(f"{name} = {as_written(inner)}" for name, inner in value.items()) + "}"
    elif isinstance(value, list):
        text = "[" + ", ".join(as_written(inner) for inner in value) + "]"
    else:
        text = str(value)
    return text if len(text) <= LONGEST_FOUND else text[: LONGEST_FOUND - 1] + "…"


def nearest(word: str, among: Iterable[str]) -> str | None:
    """The likeliest of `among` that a misspelt `word` stands for; None where none is close."""
    plain = {other.casefold(): other for other in among}
    if not word or len(word) > LONGEST_FOUND:
        return None
    close = difflib.get_close_matches(word.casefold(), list(plain), n=1, cutoff=0.6)
    return plain[close[0]] if close else None
