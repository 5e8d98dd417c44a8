"""Sums: gather the slots, doubt what may be misheard, calculate, word the outcome."""

from __future__ import annotations

import re
from dataclasses import replace

from assistant import gather, word
from assistant.actions import Result, Turn, TurnAction
from assistant.actions.carried_over import OF_A_FEED, begun_before, carried_over, points_back
from assistant.actions.gone_by import gone_by, left_a_while_ago
from assistant.actions.talk import unclear
from assistant.asked.general_limits import told_in_general
from assistant.clauses.feed_hours import hour_of_none
from assistant.follow.follow_ons import FIGURES
from assistant.follow.rate_supposed import with_the_rate_put
from assistant.follow.turns import pattern
from assistant.gather._left_of_whole import claim_whole
from assistant.gather._told_beside import count_told
from assistant.hear import digit_by_digit, hear, misheard
from assistant.numbers.doubts import doubts, left_out
from assistant.numbers.nets import after_the_sum, before_the_sum
from assistant.numbers.said import HINTED, Said, Spoken
from assistant.numbers.wants import Ask
from assistant.numbers.weighed_roles import without_asides
from assistant.slots import Slots
from assistant.wording import asking
from assistant.wording.unwritten import listed, of_the_run
from rules.outcome import CannotAnswer
from rules.quantity import is_amount, number, unit_of

NOT_WRITTEN = "told_not_written"
UNSURE = 0.7  # below this share, what is missing is not asked before which sum was meant


class Compute(TurnAction):
    intents = tuple(sorted(gather.names()))

    def do(self, turn: Turn) -> Result:
        name, night = turn.question.name, turn.night
        if turn.question.favours == FIGURES and turn.talk.last is not None and not gone_by(turn, turn.talk.last):
            return Result(turn.talk.last, turn.talk)
        favours = turn.question.favours if turn.question.favours != FIGURES else None
        said = replace(turn.said, spoken=without_asides(turn.said.spoken, name))
        said = _once(said) if turn.question.carried else said
        as_put = with_the_rate_put(name, said.heard, turn.talk, night)
        night = night if as_put is None else as_put
        slots = Slots(said, night, carried_over(turn), favours)
        slots.remarks.extend(["at_the_rate_put"] if as_put is not None else [])
        slots.confirmed = turn.question.follows and str(turn.talk.code).startswith(
            ("slip_", "misheard", "too_much", "unread")
        )
        try:
            count_told(slots, name)
            claim_whole(slots, name)
            arguments = gather.gather_for(name)(slots)
            slots.settle()
            doubts(slots, name)
            before_the_sum(slots, name, arguments)
            _open_still(turn, slots)
            _none_claimed(turn, slots)
            _of_no_feed(slots)
            _of_what_is_open(turn, slots)
            outcome = gather.calculator_for(name)(**arguments)
            after_the_sum(slots, name, arguments, outcome)
            _by_the_plan_alone(turn, name, slots)
            left_a_while_ago(turn, name, slots)
        except Ask as ask:
            if ask.asks == "start" and (told := begun_before(turn)) is not None:
                return self.do(replace(turn, question=replace(turn.question, carried=told)))
            if (known := told_in_general(name, ask, slots)) is not None:
                return Result(known, turn.talk.remember(question=name, slots={}, asks="opened", code=None, choices=(),
                                                        last_slot="opened", answer=known))
            return asked(turn, ask, slots)
        except CannotAnswer as refusal:
            return asked(turn, asking.refusal(refusal), slots)
        record = word.outcome_reply(
            name, outcome, slots.used, night, slots.remarks, left_out(slots), slots.defers, said_back(slots)
        )
        talk = turn.talk.remember(
            question=name,
            slots={n: u for n, u in {**turn.question.carried, **slots.used}.items() if n not in slots.worked_out},
            asks=None,
            code=None,
            choices=(),
            last_slot=_changed(slots, turn),
            answer=record,
            feed=slots.feed_meant or turn.talk.feed,
        )
        return Result(record, talk)


def _once(said: Said) -> Said:
    """ "The nurse put 80 this evening, so with 80", after a sum: a bare number that is said twice is one number."""
    bare = [s for s in said.spoken if s.amount.readings[0].kind == "number"]
    twice = len(bare) == 2 and bare[0].amount.text == bare[1].amount.text
    return replace(said, spoken=tuple(s for s in said.spoken if s is not bare[1])) if twice else said


def _none_claimed(turn: Turn, slots: Slots) -> None:
    """ "Say six meds, not four", after a sum: where it claims none of the numbers, it is not what was asked.

    Nor is "71, gran's wheelbarrows" after "I am not sure what 71 stands for": it must say what of the sum it is.
    """
    asked_what = turn.talk.code == "unclaimed" and str((turn.talk.last or {}).get("text"))
    if not turn.question.follows or (turn.talk.asks not in (None, "which_question") and not asked_what):
        return
    claimed = [spoken for name, spoken in slots.spoken.items() if name in slots.used]
    idle = list(left_out(slots))
    if asked_what:
        idle += [s.amount.text for name, s in slots.spoken.items() if s in claimed and _as_unsure(name, s, asked_what)]
    if idle and (asked_what or not claimed):
        raise Ask("which_number", code="unclaimed", numbers=", ".join(idle))


def _open_still(turn: Turn, slots: Slots) -> None:
    """ "I am not sure what 80 stands for." "It's 400 in the bag.", "So until when?": 80 is asked about again, and not
    dropped."""
    talk, last = turn.talk, turn.talk.last or {}
    goes_on = turn.question.follows or turn.question.carried or pattern("goes_on_so").match(turn.said.lower)
    if talk.code != "unclaimed" or not goes_on or turn.question.counts == "":
        return
    asked = [a for a in hear(talk.text).amounts if _named(a.text, str(last.get("text")))]
    mine = turn.said.heard.amounts
    told = {r.value for a in mine for r in a.readings}
    if mine and not told & {r.value for a in asked for r in a.readings} and _asks(turn.said.lower):
        return  # "I have only 150 of boiled water, how much can I make": asked with numbers of its own
    if asked and len(mine) <= 1 and not any(r.value in told for a in asked for r in a.readings):
        raise Ask("which_number", code="unclaimed", numbers=", ".join([*(a.text for a in asked), *left_out(slots)]))


def _asks(text: str) -> bool:
    """Does a message ask by its own words, and not only put another value?"""
    if pattern("what_if").match(text):
        return False
    return bool(pattern("asks_anew").search(text) or pattern("begins_to_ask").search(text) or BESIDE_IT.search(text))


BESIDE_IT = re.compile(
    r"\b(?:is (?:that|it) (?:right|enough|ok|okay|too much)|will (?:he|she|it|that)|does (?:it|that))\b"
)


def _named(number: str, text: str) -> bool:
    return re.search(rf"(?<!\S){re.escape(number)}(?![\w.:])", text) is not None


def _as_unsure(name: str, spoken: Spoken, asked: str) -> bool:
    """Is the number that was asked about said again without a unit, or a word for what it is?"""
    bare = spoken.amount.readings[0].kind == "number" and spoken.roles.get(name, 0.0) < HINTED
    return bare and _named(spoken.amount.text, asked)


def _of_no_feed(slots: Slots) -> None:
    """ "The 3 o'clock feed", where the plan has none then: another feed's order is not used for it."""
    by_plan = any(slots.used[n].origin == "care plan" for n in ("volume", "rate") if n in slots.used)
    if by_plan and len(slots.night.feeds) > 1 and hour_of_none(slots.said.heard.text) is not None:
        raise Ask("which_feed", names=[feed.name for feed in slots.night.feeds])


def _of_what_is_open(turn: Turn, slots: Slots) -> None:
    """ "And how many calories is that?", while it was asked how much went in: not the plan's own amount."""
    talk = turn.talk
    waits = talk.asks not in (None, "which_question", "sure") and not turn.question.follows
    waits = waits or (bool(talk.just_looked_up()) and talk.looked_up_of is None)  # of several feeds
    said = any(used.origin == "question" for used in slots.used.values())
    hung = {"total", "volume"} & {n for n, used in talk.slots.items() if used.origin == "question"}
    if talk.asks == "start" and waits and hung and not said and turn.question.name in WHEN_DRY:
        slots.used["volume"] = next(talk.slots[n] for n in ("volume", "total") if n in hung)
        raise Ask("start")  # "she put 340 in", and "so what time does it run out": not the plan's own feed
    if waits and not said and turn.question.name in OF_A_FEED and points_back(turn.said.lower):
        raise Ask("volume", code=asking.HOW_MUCH_IN)


WHEN_DRY = ("finish_at", "bag_duration", "remaining")
FILLED = re.compile(
    r"\b(?:pour|fill|top|tipp|open|spik|mix|refill)\w*|\b(?:hung|fresh|new|another|next|put \w+ (?:in|up|on))\b",
    re.IGNORECASE,
)


def _by_the_plan_alone(turn: Turn, name: str, slots: Slots) -> None:
    """Ask, where the plan would stand in for a log that is empty since what was told could not be written."""
    told = turn.talk.unwritten
    opened = slots.used.get("opened")
    if told and name == "discard_at" and opened is not None and opened.origin == "feed log" and FILLED.search(told):
        raise Ask("which_question", code=NOT_WRITTEN, told=listed(told))  # the milk may be another one
    nothing_said = not any(u.origin == "question" for u in slots.used.values())
    by_log = any(u.origin == "feed log" for u in slots.used.values())
    if by_log:  # said once, and what changes nothing in a run: the figure says that it is left out
        told = "\n".join(line for line in of_the_run(told) if line not in turn.talk.refused.split("\n"))
    if told and nothing_said and name in asking.ABOUT_NOW and (by_log or name == "catch_up" or not turn.night.events):
        raise Ask("which_question", code=NOT_WRITTEN, told=listed(told))


def asked(turn: Turn, ask: Ask, slots: Slots) -> Result:
    """The question back, with everything that was already said kept for the answer.

    Where it was not sure which sum was meant, the choices are offered first: a wrong question back helps nobody.
    """
    if turn.question.p < UNSURE and not turn.question.follows and len(turn.question.choices) > 1:
        return unclear(turn)
    record = asking.ask_record(turn.question.name, ask, slots, turn.night)
    gone = {ask.asks, ask.facts.get("slot"), *slots.worked_out, *_doubted(ask, slots)}
    told = {**turn.question.carried, **slots.used}
    kept = {n: u for n, u in told.items() if u.origin == "question" and n not in gone}
    talk = turn.talk.remember(
        question=turn.question.name,
        slots=kept,
        asks=ask.facts.get("slot") or ask.asks,
        code=ask.code,
        choices=(),
        last_slot=ask.facts.get("slot") or ask.asks,
    )
    if ask.asks == "which_number" and "slot" in ask.facts:
        talk = replace(talk, asks=ask.facts["slot"])
    return Result(record, replace(talk, refused=talk.unwritten) if ask.code == NOT_WRITTEN else talk)


def _doubted(ask: Ask, slots: Slots) -> set[str]:
    """The slots of the numbers that are asked about: nothing is worked out from them in the next turn."""
    numbers = str(ask.facts.get("numbers") or "")
    return {n for n, s in slots.spoken.items() if ask.asks == "which_number" and s.amount.text in numbers.split(", ")}


def said_back(slots: Slots) -> list[str]:
    """Numbers said in words that sound like another ("fifty"), digit by digit."""
    digits = []
    for name, spoken in slots.spoken.items():
        value = slots.used[name].value if name in slots.used and spoken.amount.in_words else None
        if is_amount(value) and misheard(number(value, unit_of(value))) is not None:
            digits.append(digit_by_digit(number(value, unit_of(value))))
    return list(dict.fromkeys(digits))


def _changed(slots: Slots, turn: Turn) -> str | None:
    """The slot that this turn filled or changed last: "no, 65" means it."""
    fresh = [n for n in slots.spoken if n in slots.used]
    if not fresh:
        return turn.talk.last_slot
    if turn.question.follows and len(fresh) == 1:
        return fresh[0]
    return max(fresh, key=lambda n: slots.spoken[n].amount.start)
