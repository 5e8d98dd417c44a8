"""START READING HERE: the path of one message, in order. Same message, plan, log and now: same reply, always.

receive (a channel) -> plain words -> triage -> amounts and times -> question and slots -> action -> caution -> word
"""

from __future__ import annotations

import logging
from dataclasses import replace
from typing import Any

from rasa_sdk import Tracker

from assistant import actions, dialogue, word
from assistant.asked.held_against import held_against
from assistant.asked.question import Question, decide
from assistant.clauses.asides import without_asides
from assistant.clauses.asks import asks_of
from assistant.clauses.feed_hours import with_feed_names
from assistant.clauses.listed_asks import without_counting
from assistant.danger.danger_stays import stays
from assistant.danger.doubted import asked_about, doubts
from assistant.follow.begun import begun_told
from assistant.follow.by_its_role import only_puts_right
from assistant.follow.told_ahead import counted_with, told_so_far, with_what_was_told
from assistant.follow.turns import told_acts
from assistant.follow.wrote import noted
from assistant.hear import hear
from assistant.hear.plain import plain
from assistant.message import Message, Reply
from assistant.night import Night
from assistant.numbers.said import said
from assistant.told.put_right import time_just_told
from assistant.triage import Alarm, picked, triage, worrying
from assistant.walk.guides import guide_turn
from assistant.wording import asking
from assistant.wording.unwritten import still_unwritten

LOG = logging.getLogger("bagside")


def new_tracker(sender: str = "household") -> Tracker:
    """An empty conversation."""
    return Tracker(sender, {dialogue.SLOT: None}, {}, [], False, None, {}, "action_listen")


def answer(message: Message, night: Night, tracker: Tracker) -> Reply:
    """Answer one message. Never raises: a fault of ours becomes one fixed sentence and a line in the program's log."""
    try:
        return _answer(message, night, tracker)
    except Exception:  # the last line of defence: no half answer
        LOG.exception("no answer to a message of %d characters", len(message.text))
        return Reply(_danger_alone(message, night) or asking.fault(message.text, night))


def _danger_alone(message: Message, night: Night) -> dict[str, Any] | None:
    """The danger in the words, where a later station failed on them: a fault of ours must not hide it."""
    try:
        alarms = triage(plain(message.text), night) if message.card is None else (picked(message.card, night),)
        if not alarms:
            return None
        result = actions.act(_alarmed(alarms), said(hear("")), night, dialogue.Talk(), alarms, new_tracker())
        return {"heard": message.text, **word.together([result.record], night)}
    except Exception:  # danger itself failed: the fixed sentence names whom to call
        LOG.exception("no danger heard in a message of %d characters", len(message.text))
        return None


def _answer(message: Message, night: Night, tracker: Tracker) -> Reply:
    talk = dialogue.talk_of(tracker, night.now)
    text = as_said = plain(message.text)  # 2 plain words
    alarms = triage(text, night) if message.card is None else (picked(message.card, night),)  # 3 danger is heard first
    named = any(alarm.certain for alarm in alarms)
    alarms = () if only_puts_right(text, talk, {alarm.card for alarm in alarms}, named=named) else alarms
    if not alarms and (other := asking.not_ours(text, night)):  #   nothing to read: empty, another language
        return _reply(message, night, tracker, talk, [other], ())
    whole = text = with_feed_names(without_counting(night.unnamed(text)), night.feeds, night.now)
    beside: tuple[str, ...] = ()
    if not (alarms or talk.asks is not None or guide_turn(text, talk) or time_just_told(text, hear(text), talk)):
        text, beside = without_asides(whole, night.feed_names)
    records, events, talk, night = _each(_parts(text, alarms, talk, night), night, tracker, talk, alarms)
    trouble = alarms or records[-1]["intent"] == "caution"
    if trouble and (entry := told_acts(text, hear(text), night.logged, alone=True)) is not None:
        result = actions.act(entry, said(hear(text)), night, talk, (), tracker)  # what was done is written down as well
        if result.record["outcome"] == "done":
            records.append(result.record)
            events.extend(result.events)
    talk = noted(talk, events, whole)
    records[-1] = asking.with_left_out(records[-1], beside)
    hinted = worrying(as_said, night) or asking.offers_danger(records[-1])
    if not alarms and (doubted := doubts(as_said, night)):
        records, talk = asked_about(doubted, records, talk, night)
    elif not alarms and records[-1]["intent"] != "caution" and hinted:
        records[-1] = asking.with_worry(records[-1], night)
    return _reply(message, night, tracker, talk, records, events)


def _each(
    parts: tuple[str, ...], night: Night, tracker: Tracker, talk: dialogue.Talk, alarms: tuple[Alarm, ...]
) -> tuple[list[dict[str, Any]], list[Any], dialogue.Talk, Night]:
    """Each ask of the message in order.

    Where one asks back and a later one counted with further numbers ("mixed at 8:40 ... when does it end, when is it
    thrown away?"), all are answered once more, knowing that.
    """
    first = talk, night
    records: list[dict[str, Any]] = []
    events: list[Any] = []
    for part in parts:
        record, talk, night, happened = _one(part, night, tracker, talk, alarms, alone=not records)
        records.append(record)
        events.extend(happened)
    open_still = any(r["outcome"] == "asked_back" and r["intent"] != records[-1]["intent"] for r in records[:-1])
    if open_still and night.counted - first[1].counted:
        return _each(parts, replace(first[1], counted=night.counted), tracker, first[0], alarms)
    return records, events, talk, night


def _one(
    part: str, night: Night, tracker: Tracker, talk: dialogue.Talk, alarms: tuple[Alarm, ...], *, alone: bool
) -> tuple[dict[str, Any], dialogue.Talk, Night, tuple[Any, ...]]:
    """One ask, through stations 4 to 8; `alone`: none stands before it, so it may answer what was asked back."""
    heard = hear(part)  # 4 amounts and times
    known = (night.feed_names, night.logged)
    before = talk if alone else replace(talk, asks=None, code=None, choices=())
    question = _alarmed(alarms) if alarms else decide(part, heard, before, *known)  # 5 which question
    question = question if alarms else held_against(stays(question, part, heard, talk), heard, night)
    question = with_what_was_told(question, part, talk, night.now)
    heard = heard if question.counts is None else hear(question.counts)
    night = replace(night, talked_of=_feed_meant(part, night, talk))
    result = actions.act(question, said(heard), night, talk, alarms, tracker)  # 5 slots, 6 action, 7 caution, 8 word
    night = replace(night, counted=night.counted | counted_with(result.record, result.talk))
    unwritten = still_unwritten(talk, result.talk, part, result.events, result.record, night)
    words = told_so_far(talk, part, result.record)
    of = night.talked_of if night.talked_of != talk.feed else result.talk.feed
    begun = begun_told(part, heard, night.now) or talk.begun
    after = replace(result.talk, text=words, at=night.now, feed=of, unwritten=unwritten, begun=begun)
    after = after if question.name in ("repeat", "slower") else replace(after, last=result.record)
    return asking.with_open_question(result.record, talk), after, night, result.events


def _parts(text: str, alarms: tuple[Alarm, ...], talk: dialogue.Talk, night: Night) -> tuple[str, ...]:
    """Several asks in one message are answered one by one; a danger takes the whole message."""
    return (text,) if alarms or guide_turn(text, talk) else asks_of(text, talk)


def _feed_meant(part: str, night: Night, talk: dialogue.Talk) -> str | None:
    """The feed the conversation is about: the one named now, else the one named before."""
    named = night.feeds_named(part.lower())
    return named[0].name if len(named) == 1 else talk.feed


def _alarmed(alarms: tuple[Alarm, ...]) -> Question:
    return Question("caution", alarms[0].card, 1.0)


def _reply(
    message: Message, night: Night, tracker: Tracker, talk: dialogue.Talk, records: list[dict[str, Any]], events: Any
) -> Reply:
    top = word.together(records, night)
    tracker.slots[dialogue.SLOT] = dialogue.to_plain(talk)
    return Reply({"heard": message.text, **top}, tuple(events))
