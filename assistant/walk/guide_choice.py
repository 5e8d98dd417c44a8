"""Which walk-through the words ask for, for which feed, and whether it fits the plan. The words are data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from assistant.household.care_plan import Feed
from assistant.language.features import take_apart
from assistant.night import Night
from assistant.walk.guides import WORDS, guide, lines, pattern, refusal_of
from knowledge.library import table

KIT = frozenset({
    "tube", "feed", "pump", "bag", "set", "syringe", "container", "flush", "medicine", "site", "tube_nasal",
    "tube_jejunal", "balloon", "powder",
})
LATE, SOON, DAY = 30, 60, 1440  # minutes after and before its time at which a feed is the one that is meant
METHODS = {"start_pump_feed": "pump", "gravity_feed": "gravity", "syringe_feed": "syringe"}


@dataclass(frozen=True)
class Pick:
    """The guides that the words can mean, or the refusal (text, speech) and its facts; the feed where one was named."""

    guides: tuple[str, ...] = ()
    refusal: Mapping[str, Any] | None = None
    facts: Mapping[str, Any] = field(default_factory=dict)
    feed: Feed | None = None


def pick_guide(text: str, night: Night) -> Pick:
    """The guide that the words ask for. Several: to be chosen from. None: nothing in the words tells."""
    words = table(WORDS)
    for entry in words["not_taught"]:
        if _says(text, entry):
            return Pick(refusal=entry)
    named = night.feeds_named(text) or _of_the_evening(text, night)
    for rule in words["rule"]:
        if _says(text, rule):
            return _fitting(rule["guides"], named, night)
    return _fitting(tuple(METHODS), named, night) if named else Pick()


def _of_the_evening(text: str, night: Night) -> tuple[Feed, ...]:
    """ "Tonight's feed": the one that starts in the evening or at night, where the plan has only one."""
    hours = table(WORDS)["evening"]
    if not pattern(hours["words"]).search(text):
        return ()
    late = tuple(f for f in night.feeds if f.start and (f.start >= hours["from"] or f.start < hours["until"]))
    return late if len(late) == 1 else ()


def names_kit(text: str) -> bool:
    """Is a part of tube feeding named? "How do I unblock the tube" is ours, "... the sink" is not."""
    return any(name in KIT for name, _, _ in take_apart(text).hits)


def asks_to_be_led(text: str, surely: bool = False) -> bool:
    """Do the words plainly ask for a walk-through of something that a guide (or its refusal) is for?"""
    words = table(WORDS)
    known, opens = (*words["not_taught"], *words["rule"]), words["opens"]
    asked = {**opens, "words": opens["surely"] if surely else f"{opens['words']}|{opens['surely']}"}
    return _says(text, asked) and any(_says(text, entry) for entry in known)


def _says(text: str, entry: Mapping[str, Any]) -> bool:
    barred = "unless" in entry and pattern(entry["unless"]).search(text)
    return bool(pattern(entry["words"]).search(text)) and not barred


def _fitting(guides: tuple[str, ...], named: tuple[Feed, ...], night: Night) -> Pick:
    if guides[0] not in METHODS:
        refused = refusal_of(guides[0], night)
        return Pick(refusal=refused) if refused else Pick((guides[0],), feed=named[0] if len(named) == 1 else None)
    refused = refusal_of(guides[0], night) if len(guides) == 1 else None
    if refused:
        return Pick(refusal=refused)
    if night.plan is None:
        return Pick(refusal=_line("no_plan"))
    if len(named) == 1:
        return _for_feed(guides, named[0], night)
    methods = {f.method for f in night.feeds}
    fit = tuple(g for g in guides if METHODS[g] in methods)
    if not fit:
        return Pick(refusal=_line("no_feed"), facts={"method": lines()[METHODS[guides[0]]]})
    refused = refusal_of(fit[0], night) if len(fit) == 1 else None
    return Pick(refusal=refused) if refused else Pick(tuple(g for g in fit if not refusal_of(g, night)))


def _for_feed(guides: tuple[str, ...], feed: Feed, night: Night) -> Pick:
    """The feed that was named decides how it is given."""
    mine = next(g for g, method in METHODS.items() if method == feed.method)
    if mine not in guides:
        said = {"feed": feed.name, "method": lines()[feed.method], "wanted": lines()[METHODS[guides[0]]]}
        return Pick(refusal=_line("feed_other"), facts=said)
    refused = refusal_of(mine, night)
    return Pick(refusal=refused) if refused else Pick((mine,), feed=feed)


def _line(name: str) -> Mapping[str, Any]:
    return {"text": lines()[f"{name}_text"], "speech": lines()[f"{name}_speech"]}


def feeds_of(name: str, night: Night) -> tuple[Feed, ...]:
    """The feeds that a guide can be for; more than one only where their numbers differ."""
    method = METHODS.get(name) or guide(name).get("feed")
    feeds = tuple(f for f in night.feeds if f.method == method)
    if len({(str(f.rate), str(f.volume), str(f.over)) for f in feeds}) > 1:
        return feeds
    now = night.now.time()
    timed = [f for f in feeds if f.start is not None]
    timed.sort(key=lambda f: (f.start is not None and f.start < now, f.start))  # the one that starts next
    return tuple(timed or feeds)[:1]


def due_about_now(feeds: tuple[Feed, ...], night: Night) -> Feed | None:
    """The one feed of several that is due about now, if it has not been given: its name stands in the first line."""
    given = {e.feed for e in night.events if e.kind == "feed_started" and e.at.date() == night.today}
    minutes = night.now.hour * 60 + night.now.minute
    near = [f for f in feeds if f.start and f.name not in given
            and (f.start.hour * 60 + f.start.minute - minutes + LATE) % DAY <= LATE + SOON]
    return near[0] if len(near) == 1 else None


def offers(night: Night) -> tuple[str, ...]:
    """At most three guides to choose from where it is unsure which was meant: those that fit the plan."""
    methods = {f.method for f in night.feeds}
    order: Iterable[str] = table(WORDS)["offers"]["order"]
    return tuple(g for g in order if (g not in METHODS or METHODS[g] in methods) and not refusal_of(g, night))[:3]
