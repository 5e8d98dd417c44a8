"""Walk-throughs, hands free: open one, or choose between several. Moving about in it: guide_moves.py."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.actions.guide_moves import moved, opened, state_of
from assistant.actions.guide_records import asks, line_record
from assistant.household.care_plan import Feed
from assistant.walk import guide_choice, guides
from assistant.wording.speak import limit


class Guide(TurnAction):
    """Opens a walk-through and moves about in the one that is open."""

    intents = ("guide", "next_step", "previous_step")

    def do(self, turn: Turn) -> Result:
        text, talk = turn.said.heard.text, turn.talk
        chosen = _chosen(turn)
        if chosen is not None:
            return _begin(self.intent, turn, chosen["guide"], None)
        if turn.question.name == "guide" and talk.choices and "guide" in talk.choices[0] and guides.only_assents(text):
            return _choose(self.intent, turn, [c["guide"] for c in talk.choices], "which")  # which of them?
        kind = guides.move(text, talk) if talk.guide else None
        kind = kind or {"next_step": "next", "previous_step": "back"}.get(self.intent)
        if talk.guide is not None and talk.guide.get("asked") == "feed" and kind != "stop":  # no step yet
            return _feed_told(self.intent, turn, talk.guide)
        if kind is None:
            return _open(self.intent, turn)
        if talk.guide is None:
            return _choose(self.intent, turn, guide_choice.offers(turn.night), "none_open")
        return moved(self.intent, turn, dict(talk.guide), kind)


def _open(intent: str, turn: Turn) -> Result:
    """The guide that the words ask for; where one of several readings was picked, the words before that."""
    words = turn.talk.text if turn.question.follows and turn.talk.guide is None else turn.said.heard.text
    pick = guide_choice.pick_guide(words, turn.night)
    if pick.refusal is not None:
        return _refuse(intent, turn, pick.refusal, pick.facts)
    if len(pick.guides) == 1:
        return _begin(intent, turn, pick.guides[0], pick.feed)
    return _choose(intent, turn, pick.guides or guide_choice.offers(turn.night), "which")


def _begin(intent: str, turn: Turn, name: str, feed: Feed | None) -> Result:
    """The first step; where the feeds of that method differ and none was named, which feed."""
    wanted = guides.guide(name)
    if feed is None and "method" in wanted:
        feeds = guide_choice.feeds_of(name, turn.night)
        now = guide_choice.due_about_now(feeds, turn.night)
        if len(feeds) > 1 and now is None:
            return _which_feed(intent, turn, name, feeds)
        feed = now or (feeds[0] if feeds else None)
    if "feed" in wanted:
        feeds = guide_choice.feeds_of(name, turn.night)
        feed = feed if feed in feeds else feeds[0] if len(feeds) == 1 else None
    elif feed is None:
        feed = turn.night.feed_for(turn.said.heard.text) or _of_the_pump(turn)
    return opened(intent, turn, name, feed)


def _of_the_pump(turn: Turn) -> Feed | None:
    """ "Off the pump": the one feed that is by pump."""
    pumped = [f for f in turn.night.feeds if f.method == "pump"]
    return pumped[0] if len(pumped) == 1 and turn.said.has("pump") else None


def _which_feed(intent: str, turn: Turn, name: str, feeds: Sequence[Feed]) -> Result:
    facts = {"names": ", ".join(f.name for f in feeds)}
    record = line_record(intent, turn.night, "which_feed", facts, outcome="asked_back", asks="which_feed")
    state = {**state_of(turn.night, name, None), "asked": "feed"}
    talk = turn.talk.remember(question="guide", slots={}, asks="which_feed", code=None, choices=(), guide=state)
    return Result(record, talk)


def _feed_told(intent: str, turn: Turn, state: Mapping[str, Any]) -> Result:
    """The answer to "which feed?"; anything else that asks for a guide opens that one."""
    feeds = guide_choice.feeds_of(state["guide"], turn.night)
    named = [f for f in turn.night.feeds_named(turn.said.heard.text) if f in feeds]
    if len(named) == 1:
        return _begin(intent, turn, state["guide"], named[0])
    if turn.question.follows or intent != "guide":
        return _which_feed(intent, turn, state["guide"], feeds)
    return _open(intent, turn)


def _choose(intent: str, turn: Turn, names: Sequence[str], line: str) -> Result:
    """At most three guides to choose from."""
    choices = [{"intent": "guide", "label": _label(n, turn), "guide": n} for n in names[:3]]
    facts = {"labels": ", ".join(c["label"] for c in choices)}
    facts["rows"] = "".join(f"\n{i}. {c['label']}" for i, c in enumerate(choices, 1))
    return asks(intent, turn, line, facts, choices, turn.talk.guide)


def _label(name: str, turn: Turn) -> str:
    """A guide's title, with the feed where the plan has only one that it is for."""
    title, method = guides.guide(name)["title"], guides.guide(name).get("method")
    feeds = [f for f in turn.night.feeds if f.method == method]
    return guides.lines()["label_of_feed"].format(title=title, feed=feeds[0].name) if len(feeds) == 1 else title


def _chosen(turn: Turn) -> Mapping[str, Any] | None:
    """The guide that was picked from those offered: by number, by its place, or by its name."""
    talk = turn.talk
    if talk.asks != "which_question" or not talk.choices or "guide" not in talk.choices[0]:
        return None
    at = guides.choice_at(turn.said.heard.text, talk.choices)
    return talk.choices[at] if at is not None else None


def _refuse(intent: str, turn: Turn, refusal: Mapping[str, Any], facts: Mapping[str, Any]) -> Result:
    """What does not fit the plan, or is not taught: why, and whom to ask."""
    filled = word.Facts(turn.night, facts)
    record = word.record(
        intent=intent,
        outcome="declined",
        text=filled.text(refusal["text"]),
        speech=limit(filled.speech(refusal["speech"])),
        sources=(refusal.get("source", "care-plan" if turn.night.plan else "bagside"),),
        place=refusal.get("place", ""),
        defers=True,
    )
    return Result(record, turn.talk.remember(asks=None, code=None, choices=(), answer=record))
