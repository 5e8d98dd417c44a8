"""Guides: one act a step, few words, a wording without the number, a reason for every step that must not be skipped."""

from __future__ import annotations

import re
import string
from collections.abc import Iterator, Mapping
from typing import Any

from knowledge.library import Fault, Shelf, nearest

GUIDE_KEYS = {"title", "cards", "method", "feed", "end", "refuse", "step"}
SOURCE_KEYS = {"source", "place", "confirmed"}
STEP_KEYS = {"use", "name", "must", "log", "needs", "unless", "say", "says", "speech", "why"} | SOURCE_KEYS
SAYS_KEYS = {"has", "when", "unless", "text", "speech"} | SOURCE_KEYS
REFUSE_KEYS = {"when", "unless", "text", "speech"} | SOURCE_KEYS
LOGGED = ("feed_started", "given", "stopped", "flushed", "set_changed", "medicine_given")
MOST_WORDS = 20
SHARED = "_shared"
WORDS = "guide_words_en.toml"


def check(shelf: Shelf) -> Iterator[Fault]:
    guides = shelf.folder("guides")
    if not guides:
        return
    words = shelf.read(WORDS)
    shared = guides.get(SHARED, {})
    for name, step in shared.items():
        yield from _step(f"guides/{SHARED}.toml", name, step, words)
    for name, guide in guides.items():
        if name != SHARED:
            yield from _guide(f"guides/{name}.toml", guide, shared, words, set(shelf.folder("cautions")))
    yield from _words(words, set(guides) - {SHARED})


def _guide(
    file: str, guide: Mapping[str, Any], shared: Mapping[str, Any], words: Mapping[str, Any], cards: set[str]
) -> Iterator[Fault]:
    yield from _keys(file, "", guide, GUIDE_KEYS)
    for card in guide.get("cards", ()):
        if card not in cards:
            yield Fault(file, "cards", f'no caution card is called "{card}"', nearest(card, cards))
    for needed in ("title", "end", "step"):
        if needed not in guide:
            yield Fault(file, needed, "is missing")
    for place, entry in enumerate(guide.get("refuse", ()), 1):
        yield from _keys(file, f"refuse[{place}]", entry, REFUSE_KEYS)
        yield from _codes(file, f"refuse[{place}]", entry, words)
        for needed in ("text", "speech"):
            if needed not in entry:
                yield Fault(file, f"refuse[{place}].{needed}", "is missing", "say why, and whom to ask")
    for place, step in enumerate(guide.get("step", ()), 1):
        key = f"step[{place}]"
        if "use" not in step:
            yield from _step(file, key, step, words)
            if "name" not in step:
                yield Fault(file, f"{key}.name", "is missing", "write a word for the step, or use a shared one")
        elif step["use"] not in shared:
            yield Fault(file, f"{key}.use", f'no shared step is called "{step["use"]}"', nearest(step["use"], shared))


def _step(file: str, key: str, step: Mapping[str, Any], words: Mapping[str, Any]) -> Iterator[Fault]:
    yield from _keys(file, key, step, STEP_KEYS)
    yield from _codes(file, key, step, words)
    if step.get("log", LOGGED[0]) not in LOGGED:
        yield Fault(file, f"{key}.log", f'"{step["log"]}" is never written down', nearest(step["log"], LOGGED))
    if ("say" in step) == ("says" in step):
        yield Fault(file, key, "needs either say or says", 'write say = "..." or a list says')
    if step.get("must") and not step.get("why"):
        yield Fault(file, f"{key}.why", "is missing", "a step that must not be skipped says why")
    says = step.get("says", ({k: step[k] for k in ("speech",) if k in step} | {"text": step.get("say", "")},))
    for place, entry in enumerate(says, 1):
        yield from _wording(file, f"{key}.says[{place}]", entry, words)
    if says and ("has" in says[-1] or "when" in says[-1] or "unless" in says[-1]):
        yield Fault(file, f"{key}.says", "has no last wording that always fits", "add one without the number")


def _wording(file: str, key: str, entry: Mapping[str, Any], words: Mapping[str, Any]) -> Iterator[Fault]:
    yield from _keys(file, key, entry, SAYS_KEYS)
    yield from _codes(file, key, entry, words)
    always = {"nurse_line", "supplier", "emergency"}
    for text in (entry.get("text", ""), entry.get("speech", entry.get("text", ""))):
        named = {f for _, f, _, _ in string.Formatter().parse(text) if f}
        for unknown in sorted(named - set(words["names"]["amounts"])):
            yield Fault(file, key, f"{{{unknown}}} is no amount", nearest(unknown, words["names"]["amounts"]))
        if len(text.split()) > MOST_WORDS:
            yield Fault(file, key, f"has {len(text.split())} words", f"at most {MOST_WORDS}: one act a step")
    named = {f for _, f, _, _ in string.Formatter().parse(entry.get("text", "")) if f}
    for bare in sorted(n for n in named - always if not _given(n, entry.get("has", ()))):
        yield Fault(file, key, f"names {{{bare}}} without has", f'write has = ["{bare}"]')


def _given(name: str, has: tuple[str, ...]) -> bool:
    """An amount's spellings ("rate_digits") are there when the amount is."""
    return name in has or re.sub(r"_(?:digits|number)$", "", name) in has or f"{name[:-7]}_digits" in has


def _words(words: Mapping[str, Any], guides: set[str]) -> Iterator[Fault]:
    for place, rule in enumerate(words["rule"], 1):
        for name in rule["guides"]:
            if name not in guides:
                yield Fault(WORDS, f"rule[{place}]", f'no guide is called "{name}"', nearest(name, guides))
    patterns = [(f"rule[{i}].{k}", r[k]) for i, r in enumerate(words["rule"], 1) for k in ("words", "unless") if k in r]
    patterns += [
        (f"not_taught[{i}].{k}", r[k])
        for i, r in enumerate(words["not_taught"], 1)
        for k in ("words", "unless")
        if k in r
    ]
    for part in ("turns", "opens"):
        patterns += [(f"{part}.{name}", text) for name, text in words[part].items()]
    patterns.append(("evening.words", words["evening"]["words"]))
    for key, text in patterns:
        try:
            re.compile(text)
        except re.error as fault:
            yield Fault(WORDS, key, f"is no pattern: {fault}")


def _keys(file: str, key: str, entry: Mapping[str, Any], allowed: set[str]) -> Iterator[Fault]:
    for unknown in sorted(set(entry) - allowed):
        yield Fault(file, f"{key}.{unknown}".strip("."), "is not known here", nearest(unknown, allowed))


def _codes(file: str, key: str, entry: Mapping[str, Any], words: Mapping[str, Any]) -> Iterator[Fault]:
    known = words["names"]["codes"]
    for kind in ("needs", "when", "unless"):
        for code in entry.get(kind, ()):
            if code not in known:
                yield Fault(file, f"{key}.{kind}", f'"{code}" is no condition', nearest(code, known))
