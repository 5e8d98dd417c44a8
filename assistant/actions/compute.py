"""Sums: gather the slots, doubt what may be misheard, calculate, word the outcome."""

from __future__ import annotations

from dataclasses import replace

from assistant import gather, word
from assistant.actions import Result, Turn, TurnAction
from assistant.actions.carried_over import begun_before, carried_over
from assistant.actions.compute_doubts import (
    NOT_WRITTEN,
    by_the_plan_alone,
    none_claimed,
    of_a_run_gone_wrong,
    of_no_feed,
    of_what_is_open,
    open_still,
    planned_start,
)
from assistant.actions.gone_by import gone_by, left_a_while_ago
from assistant.actions.talk import unclear
from assistant.asked.general_limits import told_in_general
from assistant.follow.follow_ons import FIGURES
from assistant.follow.rate_supposed import with_the_rate_put
from assistant.follow.settings_talk import RAN_AT
from assistant.gather._left_of_whole import claim_whole
from assistant.gather._told_beside import count_told
from assistant.hear import digit_by_digit, misheard
from assistant.numbers.doubts import doubts, left_out
from assistant.numbers.nets import after_the_sum, before_the_sum
from assistant.numbers.said import Said
from assistant.numbers.wants import Ask
from assistant.numbers.weighed_roles import without_asides
from assistant.slots import Slots
from assistant.wording import asking
from rules.outcome import CannotAnswer
from rules.quantity import is_amount, number, unit_of

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
        slots.as_it_ran = turn.talk.code == RAN_AT and turn.question.follows
        try:
            count_told(slots, name)
            claim_whole(slots, name)
            arguments = gather.gather_for(name)(slots)
            slots.settle()
            if planned_start(slots) and (told := begun_before(turn)) is not None:
                return self.do(replace(turn, question=replace(turn.question, carried=told)))
            doubts(slots, name)
            before_the_sum(slots, name, arguments)
            open_still(turn, slots)
            none_claimed(turn, slots)
            of_no_feed(slots)
            of_a_run_gone_wrong(turn, slots)
            of_what_is_open(turn, slots)
            outcome = gather.calculator_for(name)(**arguments)
            after_the_sum(slots, name, arguments, outcome)
            by_the_plan_alone(turn, name, slots)
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
