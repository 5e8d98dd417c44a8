"""`bagside plan import ORDER.json [PLAN.toml]`: shows what an order says, asks what it leaves open, writes a plan.

Nothing is written before every question has been answered; "I am not sure" and the end of the input both end without a
plan. Exit codes: 0 written, 2 nothing written.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any, TextIO

from assistant.channels.plan_new import BAD, DONE, Lines, Say, Stopped
from assistant.fhir.doubts import Doubt, next_doubt
from assistant.fhir.order import Order, read_order
from assistant.fhir.reading import NotAnOrder, clean, resource_in
from assistant.fhir.schedule import Given
from assistant.fhir.to_plan import plan_text, sentence
from assistant.fhir.units import exact
from assistant.household.plan_faults import PlanFaults, Wrong
from assistant.household.plan_keys import key_of
from assistant.household.plan_values import read_value
from assistant.household.plan_words import example
from assistant.household.plan_words import sentence as plan_sentence
from assistant.household.safe_file import write_whole

LONGEST_LINE = 300  # signs of an entry that is not used; a narrative is the whole order once more


def import_order(order: Path, file: Path | None, yes: bool, typed: TextIO, say: Say) -> int:
    """Read the order in `order`, ask, and write the plan to `file`. 0 when written, 2 when nothing was."""
    to = file if file is not None else Path(f"{order.stem}.toml")
    lines = Lines(typed, say)
    try:
        return _import(read_order(resource_in(order)), to, yes, lines, say)
    except NotAnOrder as fault:
        why = sentence("refused", fault.code, **fault.facts)
        say(sentence("refused", "line", file=clean(order), why=why))
    except PlanFaults as faults:
        for line in faults.lines():
            say(line)
        say(plan_sentence("says", "stopped"))
    except Stopped as stopped:
        say(sentence("says", str(stopped) or "stopped"))
    except KeyboardInterrupt:
        say("\n" + plan_sentence("says", "interrupted"))
    except (OSError, UnicodeDecodeError) as fault:
        say(plan_sentence("says", "unwritable", file=clean(to), why=getattr(fault, "strerror", None) or str(fault)))
    return BAD


def _import(order: Order, to: Path, yes: bool, lines: Lines, say: Say) -> int:
    if to.is_dir() or not to.parent.is_dir():
        why = plan_sentence("faults", "a_folder" if to.is_dir() else "no_file")
        say(plan_sentence("says", "unwritable", file=clean(to), why=why))
        return BAD
    for line in _shown(order):
        say(line)
    answers: dict[str, Any] = {}
    while (doubt := next_doubt(order, answers)) is not None:
        answers[doubt.key] = _answer(doubt, lines, say)
    text = plan_text(order, answers)
    say(sentence("says", "summary"))
    say(text)
    say(sentence("says", "own_paper"))
    replace = to.exists()
    if replace and not lines.yes(plan_sentence("says", "replace", file=clean(to))):
        say(plan_sentence("says", "not_replaced", file=clean(to)))
        return BAD
    if not yes and not replace and not lines.yes(plan_sentence("says", "write_it", file=clean(to))):
        raise Stopped
    try:
        write_whole(to, text.encode("utf-8"), replace=replace)
    except FileExistsError:
        say(plan_sentence("says", "appeared", file=clean(to)))
        return BAD
    say(plan_sentence("says", "written", file=clean(to)))
    return DONE


def _answer(doubt: Doubt, lines: Lines, say: Say) -> Any:
    ask = sentence("asks", doubt.code, **doubt.facts)
    if doubt.path:
        return _typed(doubt, ask, lines, say)
    say(ask)
    for n, choice in enumerate(doubt.choices, 1):
        say(sentence("says", "number", n=n, what=sentence("choices", choice.code, **choice.facts)))
    say(sentence("says", "number", n=len(doubt.choices) + 1, what=sentence("choices", "unsure")))
    while True:
        said = lines.ask(sentence("says", "which"))
        if said.isdecimal() and said.isascii() and 1 <= int(said[:9]) <= len(doubt.choices) + 1:
            if int(said) == len(doubt.choices) + 1:
                raise Stopped("unsure")
            return doubt.choices[int(said) - 1].value
        say(sentence("says", "only_numbers"))


def _typed(doubt: Doubt, ask: str, lines: Lines, say: Say) -> Any:
    """A value for a key of the plan, read as the plan reads it; amounts stay as they were typed."""
    key = key_of(doubt.path)
    while True:
        said = lines.ask(ask)
        if not said and doubt.may_skip:
            say(sentence("says", "left_out"))
            return None
        try:
            value = read_value(said, key, doubt.path, None)
            return said if key.kind == "amount" else value
        except Wrong as wrong:
            facts = {"example": example(doubt.path), "key": doubt.path, **wrong.facts}
            say("  " + plan_sentence("faults", wrong.code, **facts))


def _shown(order: Order) -> Iterator[str]:
    """What was read, what was not, and what the order lacks."""
    yield sentence("read", "heading", release=order.release)
    facts = (("subject", order.subject), ("issued", order.issued), ("product", order.product), ("kind", order.kind),
             ("energy", order.energy.said if order.energy else ""), ("route", order.route_said),
             ("additive", "; ".join(order.additives)))
    yield from (sentence("read", name, what=what) for name, what in facts if what)
    for n, feed in enumerate(order.feeds, 1):
        yield from (sentence("read", name, n=n, what=what) for name, what in _of_feed(feed) if what)
    if order.daily:
        yield sentence("read", "most", what=order.daily.said)
    yield from (sentence("read", "words", what=text) for text in order.words)
    if order.practice:
        yield sentence("read", "practice")
    left = order.leaves.unread()
    yield sentence("unread", "heading" if left else "none")
    yield from (sentence("unread", "line", where=where, what=_cut(what)) for where, what in left)
    yield sentence("missing", "heading")
    yield from (sentence("missing", name) for name in _missing(order))


def _cut(text: str) -> str:
    return text if len(text) <= LONGEST_LINE else f"{text[:LONGEST_LINE]}…"


def _of_feed(feed: Given) -> Iterator[tuple[str, object]]:
    yield "volume", feed.volume.said if feed.volume else ""
    yield "rate", feed.rate.said if feed.rate else ""
    yield "start", f"{feed.start:%Y-%m-%d %H:%M%z}" if feed.start else feed.day
    yield "every", feed.every
    yield "a_day", feed.a_day
    yield "clocks", ", ".join(f"{clock:%H:%M}" for clock in feed.clocks)
    yield "minutes", exact(feed.minutes) if feed.minutes else ""


def _missing(order: Order) -> Iterator[str]:
    yield "timezone"
    if not order.routes:
        yield "route"
    if order.energy is None:
        yield "energy"
    yield "method"
    if any(feed.start is None and not feed.clocks for feed in order.feeds):
        yield "start"
    if any(feed.minutes is None for feed in order.feeds):
        yield "over"
    yield from ("flushes", "limits", "equipment", "contacts", "person")
