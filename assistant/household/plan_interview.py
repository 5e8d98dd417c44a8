"""`bagside plan new`: which question comes next, and what an answer means. No input and no output in here.

The questions and their order are data (knowledge/plan_questions_en.toml). An answer is read by the same readers as
a plan file. Nothing is filled in that was not answered.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import count, pairwise
from typing import Any

from assistant.household.plan_faults import Fault, PlanFaults, Wrong, as_written
from assistant.household.plan_keys import REPEATED, key_of
from assistant.household.plan_reader import Values, read_values
from assistant.household.plan_times import in_zone
from assistant.household.plan_values import read_value
from assistant.household.plan_words import example, sentence, words
from assistant.household.plan_writer import plain, toml_text

#: where a clash may lie in the other of two answers, that one is asked again too
RELATED = {
    "review_before_issue": ("issued",), "born_after_issue": ("issued",), "placed_before_born": ("person.born",),
    "above_highest": ("limits.highest_rate",), "lowest_above_highest": ("limits.highest_rate",),
    "below_lowest": ("limits.lowest_rate",), "above_kit": ("equipment.pump_highest_rate",),
    "priming_above_bag": ("equipment.bag",), "recipe_without_powder": ("formula.form",),
    "makes_less_than_water": ("formula.recipe.water",), "scoop_above_powder": ("formula.recipe.powder",),
}


@dataclass(frozen=True)
class Question:
    """One question. `path` is the key it fills ("feeds.2.rate"); a yes_no question without a key is a `gate`."""

    path: str
    ask: str
    example: str = ""
    needed: bool = False
    gate: bool = False


class Interview:
    """The answers so far. `next` asks, `answer` takes, `back` goes to the question before."""

    def __init__(self) -> None:
        self._answers: dict[str, Any] = {}
        self._told: list[str] = []              # paths in the order in which they were answered

    def next(self) -> Question | None:
        """The first question without an answer; None when all are answered."""
        return next((question for question in self._questions() if question.path not in self._answers), None)

    def answer(self, question: Question, said: str) -> Any:
        """Take what was typed; its value, or None where the question was left out. Raises Fault in PlanFaults."""
        if question.gate:
            value: Any = _yes_no(question, said) if said else False
        elif not said and question.needed:
            raise PlanFaults([Fault("", question.path, "", sentence("says", "needed"), None, "needed")])
        else:
            value = self._read(question, said) if said else None
        self._answers[question.path] = value
        self._told.append(question.path)
        return value

    def back(self) -> bool:
        """Forget the last answer, so that it is asked again; False at the first question."""
        if not self._told:
            return False
        self._answers.pop(self._told.pop(), None)
        return True

    def values(self) -> Values:
        """The answers in the shape of a plan file."""
        values: Values = {}
        gates = {question.path for question in self._questions() if question.gate}
        for question in self._questions():
            value = self._answers.get(question.path)
            if value is not None and question.path not in gates:
                _put(values, question.path.split("."), value)
        return values

    def text(self) -> str:
        """The plan as TOML. Raises PlanFaults where the answers contradict each other; those are asked again."""
        text = toml_text(self.values())
        try:
            read_values(text, "")
        except PlanFaults as faults:
            for fault in faults.faults:
                self._ask_again(fault)
            raise
        return text

    def _ask_again(self, fault: Fault) -> None:
        feed = fault.key.rpartition(".")[0]
        adding = tuple(f"{feed}.{name}" for name in ("rate", "volume", "over"))
        for path in adding if fault.code == "does_not_add_up" else (fault.key, *RELATED.get(fault.code, ())):
            for told in [told for told in self._told if told == path or told.startswith(f"{path}.")]:
                if not told.endswith((".more", ".name")):
                    self._told.remove(told)
                    self._answers.pop(told, None)

    def _read(self, question: Question, said: str) -> Any:
        key = key_of(question.path)
        raw: Any = said.strip().strip('"')
        if key.kind == "count" and raw.isdecimal() and raw.isascii():
            raw = int(raw)
        elif key.kind == "yes_no":
            return _yes_no(question, said)
        elif key.kind in {"choices", "flush_times"}:
            raw = [each.strip() for each in raw.split(",") if each.strip()]
        try:
            value = read_value(raw, key, question.path, self._answers.get("units"))
            if key.kind == "moment":
                in_zone(value, self._answers["timezone"])
        except Wrong as wrong:
            raise PlanFaults([_fault(question, raw, wrong)]) from None
        return value

    def _questions(self) -> Iterator[Question]:
        """All questions that the answers so far call for, in order."""
        section = ""
        inside: list[dict[str, Any]] = []
        for entry in [*words()["question"], {"key": ""}]:
            top = entry["key"].split(".")[0] if "." in entry["key"] or entry.get("gate") else ""
            if top != section or not top:
                yield from self._section(section, inside)
                section, inside = top, []
            if entry["key"]:
                inside.append(entry)

    def _section(self, section: str, entries: list[dict[str, Any]]) -> Iterator[Question]:
        for n in count(1):
            for entry in entries:
                path = _placed(entry["key"], n)
                if entry.get("gate"):
                    if n == 1:
                        yield Question(f"{section}.gate", entry["ask"], gate=True)
                    if not self._answers.get(f"{section}.gate"):
                        return
                elif "again" in entry:
                    yield Question(path, entry["ask"], gate=True)
                elif self._wanted(entry, n):
                    needed = key_of(path).required
                    yield Question(path, entry["ask"].format(n=n), _typed_example(path), needed)
            if section not in REPEATED or not self._answers.get(f"{section}.{n}.more"):
                return

    def _wanted(self, entry: dict[str, Any], n: int) -> bool:
        condition = entry.get("only_if")
        if condition is None:
            return True
        answer = self._answers.get(_placed(condition["key"], n))
        return answer in condition["is"] if "is" in condition else answer is not None


def _placed(key: str, n: int) -> str:
    section, _, name = key.partition(".")
    return f"{section}.{n}.{name}" if section in REPEATED and name else key


def _typed_example(path: str) -> str:
    """The example without TOML's signs; a yes or no needs none."""
    return "" if key_of(path).kind == "yes_no" else example(path).strip("[]").replace('"', "")


def _yes_no(question: Question, said: str) -> bool:
    word = said.casefold()
    if word in words()["says"]["yes"]:
        return True
    if word in words()["says"]["no"]:
        return False
    raise PlanFaults([Fault("", question.path, as_written(said), sentence("typed", "yes_no"), None, "yes_no")])


def _fault(question: Question, raw: Any, wrong: Wrong) -> Fault:
    facts = {"example": _typed_example(question.path), "key": question.path, **wrong.facts}
    table = "typed" if wrong.code in words()["typed"] else "faults"
    suggestion = wrong.suggestion.strip('"') if wrong.suggestion else None
    allowed = sentence(table, wrong.code, **facts)
    return Fault("", question.path, as_written(plain(raw)), allowed, suggestion, wrong.code)


def _put(values: Values, parts: list[str], value: Any) -> None:
    """Set values["feeds"][1]["rate"] for "feeds.2.rate"."""
    for part, following in pairwise(parts):
        if part.isdigit():
            continue
        if following.isdigit():
            tables = values.setdefault(part, [])
            while len(tables) < int(following):
                tables.append({})
            values = tables[int(following) - 1]
        else:
            values = values.setdefault(part, {})
    values[parts[-1]] = value
