"""Writing down what was done: start, pause, resume, stop, flush, pour, how they are; corrections and undo.

Each entry is said back in one line with the clock time used. What is not sure is asked, never guessed.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any

from assistant import word
from assistant.actions import Result, Turn, TurnAction
from assistant.actions.compute import asked
from assistant.actions.log_corrected import its_end, nearest, not_again, other_rate
from assistant.actions.log_doubts import check_slips, nothing_left_out, one_or_several
from assistant.actions.log_told import acts_of, events_told, feed_started, slots_told, when_done
from assistant.hear import hear
from assistant.night import Night
from assistant.numbers.doubts import beside_the_entry
from assistant.numbers.said import said
from assistant.slots import Ask, Slots, Used
from assistant.told.acts_again import says_again, so_long_ago, with_amount, with_number, with_since, with_time
from assistant.told.put_right import INTENT, KIND, entry_meant
from knowledge.library import table
from rules.clock import later
from rules.feed_state import Event
from rules.log_order import misfit


class Log(TurnAction):
    intents = tuple(KIND)

    def do(self, turn: Turn) -> Result:
        carried = turn.question.carried
        if turn.question.follows and "told" in carried:  # what was told before, now that its doubt is settled
            try:
                return self._settled(turn, carried)
            except Ask as ask:
                return asked(turn, ask, Slots(turn.said, turn.night))
        events: list[Event] = []
        slots = Slots(turn.said, turn.night)
        try:
            slots = slots_told(turn)
            slots.confirmed = turn.question.follows and str(turn.talk.code).startswith("slip_")
            corrects = "corrects" in turn.question.carried
            events = [] if corrects else acts_of(turn, KIND[self.intent])
            alone = not events
            if alone:
                events = self._one_told(turn, slots)
                old = entry_meant(turn.night, KIND[self.intent], turn.said) if corrects else None
                if old is not None:
                    return self._corrected(turn, slots, old, events[0].at)
            nothing_left_out(turn, events, alone)
            one_or_several(turn, events)
            check_slips(events, turn.night, slots)
            events = not_again(events, turn.night)
            _fits(turn.night, events)
        except Ask as ask:
            if ask.code.startswith("slip_"):
                slots.used["slipped"] = Used(ask.facts["said"], "question")
            if ask.code in (*DOUBTS, ACT_TIME, HOW_MUCH, RATE_SINCE) or "slipped" in slots.used:
                slots.used["told"] = Used(turn.said.heard.text, "question")
                slots.used["at"] = Used(events[0].at if events else turn.night.now, "question")
            return asked(turn, ask, slots)
        return _done(turn, _intent(self.intent, events), events, _written(events, turn.said.heard.text))

    def _one_told(self, turn: Turn, slots: Slots) -> list[Event]:
        kind, at = KIND[self.intent], when_done(slots)
        if kind == "rate_changed" and slots.get("rate") is None:
            raise Ask("rate")
        events = events_told(kind, at, slots, turn)
        if kind != "paused" and slots.spoken.get("until") is not None:
            slots.spoken.pop("until")  # only a pause has an end of its own: asked about below
        beside_the_entry(slots)
        return events

    def _corrected(self, turn: Turn, slots: Slots, old: Event, at: datetime) -> Result:
        """The entry put right: what was said anew counts, the rest stays. The old one stays in the file, marked."""
        ago = so_long_ago(turn.said, said(hear(turn.talk.text))) if turn.talk.text else None
        timed = "start" in slots.spoken or "ago" in slots.spoken
        said_anew = {n: v for n in ("volume", "rate") if (v := slots.get(n)) is not None}
        paused = next((e for e in reversed(turn.night.events) if e.kind == "paused" and e.at <= old.at), None)
        lasted = slots.get("ago") if "start" not in slots.spoken else None
        if ago is not None:
            new = replace(old, at=turn.night.now - ago)  # "no, more like 10"
        elif old.kind == "resumed" and paused is not None and lasted is not None:
            new = replace(old, at=later(paused.at, lasted))  # "it was off twenty minutes"
        else:
            new = replace(old, at=nearest(slots, old, at) if timed else old.at, **said_anew)
        if new == old and turn.said.spoken:  # nothing of it would change: the numbers told mean something else
            told = ", ".join(s.amount.text for s in turn.said.spoken)
            raise Ask("which_number", code="unclaimed_entry", numbers=told)
        moved = [(old, new), *its_end(turn, old, new)]
        others = tuple(e for e in turn.night.events if all(e is not was for was, _ in moved))
        _fits(replace(turn.night, events=others), [entry for _, entry in moved])
        text = turn.said.heard.text
        written = [{"write": "correct", "old": was, "event": entry, "said": text} for was, entry in moved]
        return _done(turn, self.intent, [entry for _, entry in moved], written, old)

    def _settled(self, turn: Turn, carried: Mapping[str, Used]) -> Result:
        """Yes, write it; or the start (of the feed, of the pause) that was missing, and then what was told first."""
        text, at = carried["told"].value, carried["at"].value
        first = replace(turn, said=said(hear(text)), question=replace(turn.question, carried={}, favours=None))
        more = {ACT_TIME: with_time, RATE_SINCE: with_since, HOW_MUCH: with_amount}.get(str(turn.talk.code))
        if more is not None and (timed := more(first.said, turn.said)) is not None:
            told_first = replace(first.question, follows=False)
            return self.do(replace(first, said=said(hear(timed)), question=told_first))
        if str(turn.talk.code).startswith("slip_"):  # the number again, or yes
            doubted = carried["slipped"].value
            if says_again(turn.said, doubted):
                return self.do(first)  # it follows: not doubted again
            put_in = with_number(first.said, doubted, turn.said)
            if put_in is None:
                return asked(turn, Ask("what", code="several_acts"), Slots(turn.said, turn.night))
            return self.do(replace(first, said=said(hear(put_in)), question=replace(first.question, follows=False)))
        events = acts_of(first, KIND[self.intent]) or events_told(KIND[self.intent], at, slots_told(first), first)
        slots = slots_told(turn)
        old = entry_meant(turn.night, KIND[self.intent], first.said) if "corrects" in carried else None
        if turn.talk.code in ("log_no_start", "log_before_start") or slots.spoken:
            try:
                began = when_done(slots)
                log = [e for e in turn.night.events if e is not old]
                if turn.talk.code == "log_before_start":  # the time itself was wrong, and is said again
                    events, at = [replace(events[0], at=began), *events[1:]], began
                else:
                    feed = feed_started(turn.night, text, began) or turn.night.feed_for(text)
                    start = Event(began, "feed_started", None, slots.get("rate"), feed.name if feed else None)
                    log.append(start if turn.talk.code == "log_no_start" else Event(began, "paused"))
                _fits(replace(turn.night, events=tuple(log)), events)
            except Ask as ask:
                slots.used.update({n: carried[n] for n in ("told", "at")})
                return asked(turn, ask, slots)
            events = [*log[len(turn.night.events) - (old is not None) :], *events]
        if old is None:
            return _done(turn, self.intent, events, _written(events, text))
        new = replace(old, at=at)
        first_of = _written(events[:-1], text)
        written = [*first_of, {"write": "correct", "old": old, "event": new, "said": text}]
        return _done(turn, self.intent, [*events[:-1], new], written, old)


def _intent(intent: str, events: list[Event]) -> str:
    """What was told, by what is written: "came off at six" is no pause."""
    kinds = {event.kind for event in events}
    if KIND[intent] in kinds or (intent == "log_symptom" and "vomited" in kinds):
        return intent
    if intent == "log_pause" and "stopped" in kinds:
        return "log_stop"
    return INTENT[events[0].kind] if len(events) == 1 else intent


RATE_SINCE = "log_rate_since"
HOW_MUCH = "log_how_much"  # of a feed by syringe or gravity
ACT_TIME = "log_act_time"  # one of several acts was told without its time
DOUBTS = tuple(
    f"log_{code}"
    for code in (
        "no_start", "before_start", "paused_already", "not_paused", "ended_already", "running_already", "twice"
    )
)


def _fits(night: Night, events: list[Event]) -> None:
    """Entries that do not fit the log are asked about. Two flushes told in one message are two."""
    log = night.events
    for event in events:
        found = misfit(night.events if event.kind == "flushed" else log, event, **night.plan_of_feed(event.at))
        if found is not None:
            code, clash = found
            begun = next((e.at for e in log if e.kind == "feed_started" and e.at > event.at), None)
            if code == "no_start" and begun is not None:
                raise Ask("start", code="log_before_start", clash=begun, at=event.at)
            what = table("sentences_en")["log"]["kinds"][event.kind]
            asks = "start" if code == "no_start" else "sure"
            raise Ask(asks, code=f"log_{code}", clash=clash, at=event.at, what=what)
        log = (*log, event)


def _written(events: list[Event], text: str) -> list[dict[str, Any]]:
    return [{"write": "event", "event": e, "said": text} for e in events]


def _done(
    turn: Turn, intent: str, events: list[Event], written: list[dict[str, Any]], old: Event | None = None
) -> Result:
    lines = table("sentences_en")["log"]
    text, speech = [], []
    for event in events:
        named = event.feed if len(turn.night.feeds) > 1 else None
        facts = word.Facts(turn.night, {"at": event.at, "volume": event.volume, "rate": event.rate, "feed": named})
        entry: Mapping[str, Any] | None = word.pick(lines[event.kind], facts, ())
        assert entry is not None
        text.append(facts.text(entry["text"]))
        speech.append(facts.speech(entry["speech"]))
        ordered = other_rate(turn.night, event)
        if ordered is not None:
            text.append(word.Facts(turn.night, {"ordered": ordered}).text(lines["other_rate"]))
    record = word.record(
        intent=intent,
        outcome="done",
        text="\n".join([*text, *_was(turn.night, old), lines["undo_hint"]]),
        speech=word.limit(" ".join(speech)),
        sources=("feed-log",),
    )
    return Result(
        record,
        turn.talk.remember(
            question=intent, slots={}, asks=None, code=None, choices=(), last_slot="start", answer=record
        ),
        tuple(written),
    )


def _was(night: Night, old: Event | None) -> list[str]:
    """What the entry said before it was put right."""
    if old is None:
        return []
    lines = table("sentences_en")["log"]
    facts = word.Facts(night, {"at": old.at, "what": lines["kinds"].get(old.kind, old.kind), "volume": old.volume})
    return [facts.text(lines["was_volume" if old.volume is not None else "was"])]
