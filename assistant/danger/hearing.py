"""Which cards a message calls for: a rule needs all its signs, close together, not denied, and here and now."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from operator import itemgetter

from assistant.danger.rules import Rule, number_classes, rules
from assistant.danger.signs import Hit, find
from assistant.danger.words import COMMA, Said, fold, tens_after

BUT = frozenset({"but"})
PARTS = frozenset({COMMA, "but", "and", "while"})  # what follows is told of another, where an animal comes last
PRONOUNS = frozenset({"he", "she", "it", "they", "i"})


@dataclass(frozen=True, slots=True)
class Found:
    """A card called for by a rule, and where its signs stand."""

    card: str
    start: int
    end: int
    near: tuple[str, ...]
    hint: bool = False  # said so loosely that it counts only where the weights do not hold it for harmless


@dataclass(frozen=True, slots=True)
class Heard:
    """The cards called for; those whose signs are named only as absent or over; those a normal reading rules out.

    `doubted`: the cards of worries that name no sign, only to be asked about.
    """

    found: tuple[Found, ...]
    over: frozenset[str]
    well: frozenset[str]
    framed: bool  # told as past, over, asked about in general, or a story
    doubted: tuple[str, ...] = ()


def _numbers(said: Said, hits: dict[str, list[Hit]]) -> None:
    """Numbers as signs: each range of knowledge/signs that a number falls in, unless an amount's unit follows it."""
    units = {hit.start for hit in hits.get("amount_unit", ())}
    for at, value in enumerate(said.number):
        if value is None or at + 1 in units or (at and tens_after(said, at - 1)):
            continue
        pair = tens_after(said, at)
        value, end = (value * 100 + pair, at + 2) if pair is not None else (value, at + 1)
        for name, (low, high, decimal) in number_classes().items():
            if low <= value <= high and (not decimal or "." in said.raw[at]):
                hits.setdefault(name, []).append(Hit(at, end))


def cards_called(text: str) -> tuple[Found, ...]:
    """Every card that a rule names for `text`, one a card, in the order of the rules."""
    return hear(text).found


@lru_cache(maxsize=64)  # the danger station comes back to the same words
def hear(text: str) -> Heard:
    """What the rules make of `text`."""
    said = fold(text)
    hits = find(said)
    _numbers(said, hits)
    present = {name for name, all_ in hits.items() if not all_[0].denied or any(not hit.denied for hit in all_)}
    found: dict[str, Found] = {}
    over: set[str] = set()
    well: set[str] = set()
    doubted: dict[str, None] = {}
    for rule in _begun(hits):
        if not rule.need <= hits.keys():
            continue
        if rule.doubt:
            if rule.card not in doubted and rule.need <= present and _match(rule, hits, said):
                doubted[rule.card] = None
            continue
        called = found.get(rule.card)
        if (
            (called is None or (called.hint and not rule.hint))
            and rule.need <= present
            and (match := _match(rule, hits, said))
        ):
            if rule.calm:
                (over if rule.hint else well).add(rule.card)
            else:
                found[rule.card] = Found(rule.card, *match, rule.near, rule.hint)
        elif not rule.calm:
            if _elsewhere(rule, hits, said, "animal") or _has_a_cause(rule, hits, said):
                well.add(rule.card)
            elif _elsewhere(rule, hits, said, "resolved", "past", "story"):
                over.add(rule.card)
    return Heard(
        tuple(found.values()),
        frozenset(over - found.keys()),
        frozenset(well - found.keys()),
        _is_framed(hits),
        tuple(doubted),
    )


@cache
def _by_first() -> dict[str, list[tuple[int, Rule]]]:
    """The rules by their first sign, each with its place among all."""
    found: dict[str, list[tuple[int, Rule]]] = {}
    for at, rule in enumerate(rules()):
        found.setdefault(rule.near[0], []).append((at, rule))
    return found


def _begun(hits: dict[str, list[Hit]]) -> list[Rule]:
    """The rules whose first sign was met, in their order: most of all the rules have none."""
    by_first = _by_first()
    met = [by_first[name] for name in hits if name in by_first]
    return [rule for _, rule in sorted((pair for placed in met for pair in placed), key=itemgetter(0))]


def _is_framed(hits: dict[str, list[Hit]]) -> bool:
    return any(not hit.denied for hit in hits.get("resolved", ())) or (
        "again" not in hits and any(frame in hits for frame in ("past", "asking", "story"))
    )


def _elsewhere(rule: Rule, hits: dict[str, list[Hit]], said: Said, *frames: str) -> bool:
    """Are the rule's signs all there, but in one of these frames, or with a "no" before them?"""
    animals = "animal" in frames
    frames = tuple(frame for frame in frames if frame in rule.frames and frame in hits)
    if not frames and (animals or not any(hit.denied for name in rule.near for hit in hits[name])):
        return False
    bare = {name: [Hit(h.start, h.end) for h in hits[name]] for name in rule.need}
    for first in bare[rule.near[0]]:
        span = _span(rule, first, bare, said)
        if span is None:
            continue
        denied = any(h.denied for name in rule.near for h in hits[name] if span[0] <= h.start < span[1])
        if denied and not animals:
            return True
        if any(_framed(frame, h, span, hits, said) for frame in frames for h in hits[frame]):
            return True
    return False


def _match(rule: Rule, hits: dict[str, list[Hit]], said: Said) -> tuple[int, int] | None:
    for first in hits[rule.near[0]]:
        if first.denied:
            continue
        span = _span(rule, first, hits, said)
        if span and not _stopped(rule, span, hits, said):
            return span
    return None


def _span(rule: Rule, first: Hit, hits: dict[str, list[Hit]], said: Said) -> tuple[int, int] | None:
    """From the first sign's hit, the nearest hit of each other sign; None where one is too far or elsewhere."""
    taken = [first]
    for name in rule.near[1:]:
        best, gap = None, rule.within + 1
        for hit in hits[name]:
            if hit.denied or said.sentence[hit.start] != said.sentence[first.start]:
                continue
            if any(hit.start < t.end and t.start < hit.end for t in taken) or (
                rule.ordered and hit.start < taken[-1].end
            ):
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
    if said.sentence.count(sentence) > rule.short:
        return True
    for name in rule.unless:
        if any(said.sentence[h.start] == sentence and not h.denied for h in hits.get(name, ())):
            return True
    if _explained(rule, span, hits, said):
        return True
    return any(_framed(frame, hit, span, hits, said) for frame in rule.frames for hit in hits.get(frame, ()))


def _explained(rule: Rule, span: tuple[int, int], hits: dict[str, list[Hit]], said: Said) -> bool:
    """Is a harmless cause named in the same sentence or one beside it ("blue lips. It is finger paint")?"""
    if not rule.explained or "colour_stays" in hits:
        return False
    at = said.sentence[span[0]]
    return any(abs(said.sentence[h.start] - at) <= 1 and not h.denied for n in rule.explained for h in hits.get(n, ()))


def _has_a_cause(rule: Rule, hits: dict[str, list[Hit]], said: Said) -> bool:
    spans = (_span(rule, first, hits, said) for first in hits[rule.near[0]] if not first.denied)
    return any(span is not None and _explained(rule, span, hits, said) for span in spans)


def _framed(frame: str, hit: Hit, span: tuple[int, int], hits: dict[str, list[Hit]], said: Said) -> bool:
    """Does this frame ("it stopped", "what if", "in a film") take the sign out of the here and now?"""
    sentence, where = said.sentence[span[0]], said.sentence[hit.start]
    if frame == "resolved":
        return (
            where in (sentence, sentence + 1) and hit.end > span[0] and not hit.denied and not _again(hit, hits, said)
        )
    if where != sentence or _parted(hit, span, said, PARTS if frame == "animal" and hit.start >= span[1] else BUT):
        return False
    if frame == "asking":
        return hit.start <= span[0] and not any(h.start < hit.end and hit.start < h.end for h in hits.get("unsure", ()))
    if frame == "animal":
        return _of_an_animal(hit, span, hits, said)
    return frame == "story" or not _again(hit, hits, said)


def _parted(hit: Hit, span: tuple[int, int], said: Said, by: frozenset[str]) -> bool:
    """Does a word stand between a frame and the sign that opens another thing: "lips are blue, the dog is barking"?"""
    between = said.raw[hit.end : span[0]] if hit.start < span[0] else said.raw[span[1] : hit.start]
    return any(word in by for word in between)


def _of_an_animal(hit: Hit, span: tuple[int, int], hits: dict[str, list[Hit]], said: Said) -> bool:
    """The last one named before the sign is an animal, or only an animal is named."""
    people = [h.start for h in hits.get("kin", ()) if said.sentence[h.start] == said.sentence[span[0]]]
    if hit.start < span[1]:
        named = [at for at in people if hit.start < at < span[0] and said.raw[at] not in PRONOUNS]
        return not named
    return not people


def _again(frame: Hit, hits: dict[str, list[Hit]], said: Said) -> bool:
    """Is a past or settled sign back: "it stopped but started again", "still"? In "last week, healed now" it is not."""
    settled = {h.end for h in hits.get("resolved", ()) if h.start > frame.start and not h.denied}
    return any(
        h.start >= frame.end
        and h.start not in settled
        and said.sentence[h.start] <= said.sentence[frame.start] + 1
        and not h.denied
        for h in hits.get("again", ())
    )
