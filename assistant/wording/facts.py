"""The facts of one reply, filled into sentences of knowledge/ as they are shown or spoken."""

from __future__ import annotations

import string
from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any

from assistant.night import Night
from assistant.wording.show import exact, show
from assistant.wording.speak import digits_in_words, speak
from knowledge.library import table
from rules.quantity import is_amount

TWELVE_HOUR = "us"  # plans in US units are read on a twelve-hour clock


AS_SAID = frozenset({"numbers", "unread", "formula_name"})  # facts that hold a number as it was typed or named


class Facts:
    """The facts of one reply, shown or spoken as a template asks for them."""

    def __init__(self, night: Night, facts: Mapping[str, Any], as_said: Iterable[str] = ()) -> None:
        self.night, self.as_said = night, frozenset(as_said)  # as_said: amounts shown with the digits they were said in
        self.facts = {**contacts(night), **facts}

    def has(self, names: Iterable[str]) -> bool:
        return all(self.facts.get(n) is not None for n in names)

    def text(self, template: str) -> str:
        twelve = bool(self.night.plan and self.night.plan.units == TWELVE_HOUR)
        words = {
            n: exact(v) if n in self.as_said and is_amount(v) else show(v, self.night.now, twelve)
            for n, v in self._named(template)
        }
        return _fill(template, words)

    def speech(self, template: str) -> str:
        words = {n: speak(v, self.night.now) for n, v in self._named(template)}
        return _fill(template, words | {n: digits_in_words(words[n]) for n in AS_SAID & words.keys()})

    def _named(self, template: str) -> list[tuple[str, Any]]:
        """The facts that a template names; no other is put into words."""
        return [(n, self.facts[n]) for n in _names(template) if self.facts.get(n) is not None]


@cache
def _names(template: str) -> frozenset[str]:
    return frozenset(name for _, name, _, _ in string.Formatter().parse(template) if name)


def _fill(template: str, words: Mapping[str, str]) -> str:
    filled = string.Formatter().vformat(template, (), words)
    return filled[:1].upper() + filled[1:]


def contacts(night: Night) -> dict[str, str]:
    """Whom to call, from the plan; a sensible phrase where it has none."""
    lines = table("sentences_en")["contacts"]
    plan = night.plan
    found = (
        {}
        if plan is None
        else {
            "nurse_line": plan.contacts.nurse_line,
            "supplier": plan.contacts.supplier,
            "emergency": plan.contacts.emergency,
        }
    )
    given = {name: lines[name].format(number=value) for name, value in found.items() if value}
    return {name: given.get(name, lines["no_" + name]) for name in ("nurse_line", "supplier", "emergency")}


def pick(entries: Iterable[Mapping[str, Any]], facts: Facts, codes: Iterable[str]) -> Mapping[str, Any] | None:
    """The first wording whose conditions hold: the facts it `has`, the remarks it is `when`."""
    codes = set(codes)
    for entry in entries:
        if (
            facts.has(entry.get("has", ()))
            and codes.issuperset(entry.get("when", ()))
            and not codes.intersection(entry.get("unless", ()))
        ):
            return entry
    return None
