"""The conversation of `bagside plan new`: asks, reads back, and writes the file at the end, whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TextIO

from assistant.household.plan_amounts import Amount
from assistant.household.plan_faults import Fault, PlanFaults
from assistant.household.plan_interview import Interview, Question
from assistant.household.plan_words import sentence, words
from assistant.household.plan_writer import plain, shown_amount
from assistant.household.safe_file import write_whole

DONE, BAD = 0, 2
Say = Callable[[str], None]


class Stopped(Exception):
    """The person ended it, or the input did: nothing is written."""


def write_new_plan(file: Path, typed: TextIO, say: Say) -> int:
    """Ask for a plan and write it to `file`. 0 when written, 2 when stopped or when it cannot be written."""
    try:
        return _ask_and_write(file, Lines(typed, say), say)
    except Stopped:
        say(_says("stopped"))
    except KeyboardInterrupt:
        say("\n" + _says("interrupted"))
    except (OSError, UnicodeDecodeError) as fault:
        say(_says("unwritable", file=file, why=getattr(fault, "strerror", None) or str(fault)))
    return BAD


class Lines:
    """What is typed, line by line. The end of the input and the word stop both end the conversation."""

    def __init__(self, typed: TextIO, say: Say) -> None:
        self._typed = typed
        self._say = say

    def ask(self, text: str) -> str:
        self._say(text)
        line = self._typed.readline()
        if not line or line.strip().casefold() in words()["says"]["stop"]:
            raise Stopped
        return line.strip()

    def yes(self, text: str) -> bool:
        """A plain yes or no; asked until it is one."""
        while True:
            said = self.ask(text).casefold()
            if said in words()["says"]["yes"]:
                return True
            if said in words()["says"]["no"]:
                return False
            self._say(_says("yes_or_no"))


def _ask_and_write(file: Path, lines: Lines, say: Say) -> int:
    if file.is_dir() or not file.parent.is_dir():
        why = sentence("faults", "a_folder" if file.is_dir() else "no_file")
        say(_says("unwritable", file=file if file.is_dir() else file.parent, why=why))
        return BAD
    replace = file.exists()
    if replace and not lines.yes(_says("replace", file=file)):
        say(_says("not_replaced", file=file))
        return BAD
    say(_says("welcome"))
    say(_says("how"))
    text = _whole_plan(Interview(), lines, say)
    say(_says("summary"))
    say(text)
    if not lines.yes(_says("write_it", file=file)):
        raise Stopped
    try:
        write_whole(file, text.encode("utf-8"), replace=replace)
    except FileExistsError:
        say(_says("appeared", file=file))
        return BAD
    say(_says("written", file=file))
    return DONE


def _whole_plan(interview: Interview, lines: Lines, say: Say) -> str:
    """Ask until every question is answered and no two answers clash; the plan as TOML."""
    while True:
        question = interview.next()
        if question is not None:
            _ask_one(interview, question, lines, say)
            continue
        try:
            return interview.text()
        except PlanFaults as faults:
            say(_says("clash"))
            for fault in faults.faults:
                say(_says("clash_line", key=fault.key, allowed=fault.allowed))
            again = interview.next()
            if again is None:           # nothing that was asked can mend it
                raise Stopped from None
            say(_says("again_from", key=again.path))


def _ask_one(interview: Interview, question: Question, lines: Lines, say: Say) -> None:
    shape = "question" if question.example else "question_bare"
    said = lines.ask(_says(shape, ask=question.ask, example=question.example))
    if said.casefold() in words()["says"]["back"]:
        say(_says("going_back" if interview.back() else "at_start"))
        return
    try:
        value = interview.answer(question, said)
    except PlanFaults as faults:
        say(_refusal(faults.faults[0]))
        return
    if not question.gate:
        say(_says("left_out") if value is None else _says("read_back", value=_read_back(value)))


def _refusal(fault: Fault) -> str:
    if not fault.found:
        return f"  {fault.allowed}"
    shape = "not_read_suggestion" if fault.suggestion else "not_read"
    return _says(shape, found=fault.found, allowed=fault.allowed, suggestion=fault.suggestion)


def _read_back(value: Any) -> str:
    """As it will stand in the plan, without TOML's signs."""
    if isinstance(value, bool):
        return str(words()["says"]["yes" if value else "no"][0])
    if isinstance(value, Amount):
        return shown_amount(value, us=False)
    return ", ".join(_parts(plain(value)))


def _parts(value: Any) -> Iterator[str]:
    if isinstance(value, list):
        yield from value
    else:
        yield str(value)


def _says(code: str, **facts: object) -> str:
    return sentence("says", code, **facts)
