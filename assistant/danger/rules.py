"""The danger rules: which cards a message calls for. A rule needs all its signs close together, not denied, and now."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from assistant.danger.signs import Hit, find
from assistant.danger.words import Said, fold
from knowledge.library import load

CLOSE = 9           # words within which the signs of one rule stand, where it does not say otherwise
PRONOUNS = frozenset({"he", "she", "it", "they", "i"})
NOT_NOW = ("resolved", "past", "asking", "animal", "story")


@dataclass(frozen=True, slots=True)
class Rule:
    """`near`: signs close together. `with_`: signs anywhere. `unless`: not when one of these stands in the sentence."""

    card: str
    near: tuple[str, ...]
    with_: frozenset[str]
    unless: tuple[str, ...]
    within: int
    ordered: bool
    frames: tuple[str, ...]
    need: frozenset[str]


@dataclass(frozen=True, slots=True)
class Found:
    """A card called for by a rule, and where its signs stand."""

    card: str
    start: int
    end: int
    near: tuple[str, ...]


@cache
def rules() -> tuple[Rule, ...]:
    made = []
    for file in load("signs").values():
        for entry in file.get("rule", ()):
            near, with_ = tuple(entry.get("near", ())), frozenset(entry.get("with", ()))
            frames = tuple(f for f in NOT_NOW if f not in entry.get("whenever", ()))
            for first in entry.get("any", ("",)):
                all_near = (first, *near) if first else near
                made.append(Rule(entry["card"], all_near, with_, tuple(entry.get("unless", ())), entry.get("within", CLOSE),
                                 entry.get("ordered", False), frames, frozenset(all_near) | with_))
    return tuple(made)


@cache
def number_classes() -> dict[str, tuple[Decimal, Decimal, bool]]:
    found = {}
    for file in load("signs").values():
        for name, entry in file.items():
            if name != "rule" and hasattr(entry, "get") and "from" in entry:
                found[name] = (Decimal(entry["from"]), Decimal(entry["to"]), bool(entry.get("decimal", False)))
    return found


def _numbers(said: Said, hits: dict[str, list[Hit]]) -> None:
    """Numbers as signs: each range of knowledge/signs that a number falls in, unless an amount's unit follows it."""
    units = {hit.start for hit in hits.get("amount_unit", ())}
    for at, value in enumerate(said.number):
        if value is None or at + 1 in units:
            continue
        for name, (low, high, decimal) in number_classes().items():
            if low <= value <= high and (not decimal or "." in said.raw[at]):
                hits.setdefault(name, []).append(Hit(at, at + 1))


def cards_called(text: str) -> tuple[Found, ...]:
    """Every card that a rule names for `text`, one a card, in the order of the rules."""
    said = fold(text)
    hits = find(said)
    _numbers(said, hits)
    present = {name for name, all_ in hits.items() if any(not hit.denied for hit in all_)}
    found: dict[str, Found] = {}
    for rule in rules():
        if rule.card not in found and rule.need <= present:
            match = _match(rule, hits, said)
            if match:
                found[rule.card] = Found(rule.card, *match, rule.near)
    return tuple(found.values())


def _match(rule: Rule, hits: dict[str, list[Hit]], said: Said) -> tuple[int, int] | None:
    for first in hits[rule.near[0]]:
        if first.denied:
            continue
        span = _span(rule, first, hits, said)
        if span and not _stopped(rule, span, hits, said):
            return span
    return None


def _span(rule: Rule, first: Hit, hits: dict[str, list[Hit]], said: Said) -> tuple[int, int] | None:
    """From the first sign's hit, the nearest hit of each other sign; None where one is too far or in another sentence."""
    taken = [first]
    for name in rule.near[1:]:
        best, gap = None, rule.within + 1
        for hit in hits[name]:
            if hit.denied or said.sentence[hit.start] != said.sentence[first.start]:
                continue
            if any(hit.start < t.end and t.start < hit.end for t in taken) or (rule.ordered and hit.start < taken[-1].end):
                continue
            away = max(hit.start, first.start) - min(hit.end, first.end)
            if away < gap:
                best, gap = hit, away
        if best is None:
            return None
        taken.append(best)
    return min(t.start for t in taken), max(t.end for t in taken)


def _stopped(rule: Rule, span: tuple[int, int], hits: dict[str, list[Hit]], said: Said) -> bool:
    sentence = said.sentence[span[0]]
    for name in rule.unless:
        if any(said.sentence[h.start] == sentence and not h.denied for h in hits.get(name, ())):
            return True
    return any(_framed(frame, hit, span, hits, said) for frame in rule.frames for hit in hits.get(frame, ()))


def _framed(frame: str, hit: Hit, span: tuple[int, int], hits: dict[str, list[Hit]], said: Said) -> bool:
    """Does this frame ("it stopped", "what if", "in a film") take the sign out of the here and now?"""
    sentence, where = said.sentence[span[0]], said.sentence[hit.start]
    if frame == "resolved":
        return where in (sentence, sentence + 1) and hit.end > span[0] and not hit.denied and not _again(hit, hits, said)
    if where != sentence:
        return False
    if frame == "asking":
        return hit.start <= span[0] and not any(h.start < hit.end and hit.start < h.end for h in hits.get("unsure", ()))
    if frame == "animal":
        return _of_an_animal(hit, span, hits, said)
    return frame == "story" or not _again(hit, hits, said)


def _of_an_animal(hit: Hit, span: tuple[int, int], hits: dict[str, list[Hit]], said: Said) -> bool:
    """The last one named before the sign is an animal, or only an animal is named."""
    people = [h.start for h in hits.get("kin", ()) if said.sentence[h.start] == said.sentence[span[0]]]
    if hit.start < span[1]:
        named = [at for at in people if hit.start < at < span[0] and said.raw[at] not in PRONOUNS]
        return not named
    return not people


def _again(frame: Hit, hits: dict[str, list[Hit]], said: Said) -> bool:
    """Is a past or settled sign back: "it stopped but started again", "still"?"""
    return any(h.start >= frame.end and said.sentence[h.start] <= said.sentence[frame.start] + 1 and not h.denied
               for h in hits.get("again", ()))
