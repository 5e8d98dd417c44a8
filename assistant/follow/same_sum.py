"""The sum just answered, with one value moved or put right: nothing of its own is asked.

`text` and `heard` are the message, `ranked` what it may ask; `feeds` and `logged` as in question.py.
"""

from __future__ import annotations

from dataclasses import replace

from assistant import gather
from assistant.asked.likeliest import clear
from assistant.dialogue import Talk
from assistant.follow.case_put import in_a_clause
from assistant.follow.factored import factored
from assistant.follow.follow_ons import another_fill, another_span
from assistant.follow.following import a_step, another_case, moves_the_end, puts_sum_right, standing, turns
from assistant.follow.further_pause import further_pause, without_the_pause
from assistant.follow.hour_moved import hour_moved
from assistant.follow.nearest import as_told, meant_slot
from assistant.follow.put_otherwise import put_otherwise
from assistant.follow.rate_put import puts_another_rate
from assistant.follow.replaced import replaced
from assistant.follow.stepped import stepped
from assistant.follow.told_after import minutes_put_right
from assistant.follow.turns import Question, after_a_sum, number_put_right, only_a_value, pattern, said_slots, told
from assistant.hear import hear
from assistant.message import Heard
from assistant.numbers.doubts import TIMELESS
from assistant.understand import Candidate, rank


def right_after(text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...]) -> Question | None:
    """Its time moved by so much, or nothing but a value for it."""
    if _one_of_several(text, heard, talk):
        return Question("unclear")
    if (other := without_the_pause(text, heard, talk)) is not None:
        return other
    if (other := minutes_put_right(text, heard, talk, feeds)) is not None:
        return other
    moved = stepped(text, heard, talk) or hour_moved(text, heard, talk) or factored(text, talk)
    return moved or replaced(text, heard, talk, feeds) or _with_a_value(heard, talk, feeds)


def _one_of_several(text: str, heard: Heard, talk: Talk) -> bool:
    """ "No sorry, the night was 210", after a row of amounts was added up: for which of them is not known."""
    row = sum(name.startswith("volume_") for name in talk.slots) > 1
    same = talk.question in gather.names() and (talk.last or {}).get("intent") == talk.question
    one = len([a for a in heard.amounts if a.readings[0].kind not in ("day", "date")]) == 1
    return same and row and one and bool(pattern("correction").match(text))


def _with_a_value(heard: Heard, talk: Talk, feeds: tuple[str, ...]) -> Question | None:
    """ "300 will do", "what about 75 then", right after a sum: the same for that value."""
    if not after_a_sum(talk) or not only_a_value(heard):
        return None
    timeless = talk.question in {*TIMELESS, "water"}
    if talk.waiting is not None and timeless and {a.readings[0].kind for a in heard.amounts} == {"time"}:
        return None  # "over 8 hours", after the water that was asked in between: of what is open still
    kept, slot = standing(heard.text, heard, talk, feeds), meant_slot(heard, talk)
    if slot == "rate" and pattern("for_a_number").match(heard.text) and len(heard.amounts) == 1:
        value = as_told(heard.amounts[0], talk.slots[slot].value) if slot in talk.slots else None
        if value is not None:  # "and for 38?", after 140 at 42: no amount of it
            return Question(str(talk.question), carried={**kept, slot: value}, follows=True, counts="")
    return Question(str(talk.question), carried=kept, favours=slot, follows=True)


def _moved(
    text: str,
    heard: Heard,
    talk: Talk,
    ranked: tuple[Candidate, ...],
    feeds: tuple[str, ...],
    logged: tuple[str, ...],
) -> Question | None:
    """The sum just answered with one value moved, by the words themselves: its end, its start, one put right."""
    if (other := further_pause(text, heard, talk) or put_otherwise(text, heard, talk, feeds)) is not None:
        return other
    moved = moves_the_end(text, heard, talk)
    if moved or (puts_sum_right(text, heard, talk, ranked) and told(text, heard, logged) is None):
        favours = "finish" if moved else meant_slot(heard, talk)
        alone = len(heard.amounts) == 1 and number_put_right(text, heard)  # "it was ten to seven" is no time now
        return Question(
            str(talk.question), carried=standing(text, heard, talk, feeds), favours=favours, follows=True,
            counts=heard.amounts[0].text if alone else None,
        )
    if another_case(text, heard, talk, ranked):
        kept = standing(text, heard, talk, feeds)
        return Question(str(talk.question), carried=kept, favours=meant_slot(heard, talk), follows=True)
    if puts_another_rate(text, heard, talk) and not (ranked[0].intent == "change_rate" and clear(ranked[0], ranked)):
        return Question(str(talk.question), carried=standing(text, heard, talk, feeds), favours="rate", follows=True)
    if talk.question == "strength" and pattern("for_so_many").match(text):
        return Question("strength", carried=standing(text, heard, talk, feeds), follows=True)
    if another_fill(text, talk):
        return Question("pour", carried=said_slots(talk.slots), follows=True)
    if another_span(text, heard, talk):
        return Question(str(talk.question), carried=said_slots(talk.slots), follows=True)
    if a_step(text, heard, talk):
        return Question("unclear")
    starts = talk.question in gather.names() and (talk.last or {}).get("intent") == talk.question
    if starts and pattern("starting_at").match(text) and any(a.readings[0].kind == "clock" for a in heard.amounts):
        return Question(str(talk.question), carried=standing(text, heard, talk, feeds), favours="start", follows=True)
    return None


def _by_a_clause(
    text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...], logged: tuple[str, ...]
) -> Question | None:
    """The same of the clause with the numbers, where what stands beside it is a reason."""
    clause = in_a_clause(text, heard, talk)
    if clause is None or told(text, heard, logged) is not None or pattern("of_flushes").search(text):
        return None  # "just the feed's own 512, no flushes": what is said of those counts
    heard, ranked = hear(clause), rank(clause)
    turn = (
        right_after(clause, heard, talk, feeds)
        or _moved(clause, heard, talk, ranked, feeds, logged)
    )
    if turn is None and turns(clause, heard, talk, ranked, feeds):
        kept = standing(clause, heard, talk, feeds)
        turn = Question(str(talk.question), carried=kept, favours=meant_slot(heard, talk), follows=True)
    return replace(turn, counts=clause) if turn is not None and turn.name == talk.question else None


def another_value(
    text: str,
    heard: Heard,
    talk: Talk,
    ranked: tuple[Candidate, ...],
    feeds: tuple[str, ...],
    logged: tuple[str, ...],
) -> Question | None:
    """One value moved by the words themselves, with or without a reason beside it."""
    return _moved(text, heard, talk, ranked, feeds, logged) or _by_a_clause(text, heard, talk, feeds, logged)
