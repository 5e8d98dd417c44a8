"""Which question is this? A new one, an answer to what was asked back, or a turn of the last one (see turns.py).

Acting needs a clear lead; otherwise at most three choices are offered; otherwise an honest "I did not catch that".
"""

from __future__ import annotations

from dataclasses import replace

from assistant import gather
from assistant.asked.ask_alone import asked_alone
from assistant.asked.borne_out import bears_out
from assistant.asked.last_words import asked_last
from assistant.asked.likeliest import CLEAR, clear, together, what_it_may_ask
from assistant.asked.log_asked import of_the_log
from assistant.asked.next_feed import asks_for_the_next
from assistant.asked.only_if_done import only_answers, only_if_done
from assistant.asked.outside import asks_of_the_world
from assistant.asked.plan_talk import of_the_plan, of_the_plan_perhaps
from assistant.asked.plausible import by_structure
from assistant.asked.reminders_meant import about_reminders
from assistant.asked.team_decides import team_decides
from assistant.asked.terms import term_asked
from assistant.asked.unsure import OUTSIDE, offered, unsure
from assistant.asked.what_ran import is_of_the_plan, of_what_ran
from assistant.cards import GRAVE, card
from assistant.clauses.own_words import named_feed
from assistant.clauses.told_beside import of_the_run
from assistant.dialogue import Talk
from assistant.follow.asks_another import asks_another
from assistant.follow.by_its_kind import by_its_kind
from assistant.follow.by_its_role import by_its_role
from assistant.follow.carried import carried, in_the_last_answer, told_before
from assistant.follow.follow_ons import flush_done, follows_on
from assistant.follow.following import answers, resumed, resumed_by_name, standing, turns
from assistant.follow.in_context import OPEN, by_context
from assistant.follow.nearest import meant_slot
from assistant.follow.pointing import one_of_a_pair, still_open
from assistant.follow.same_sum import another_value, right_after
from assistant.follow.settings_talk import settings_turn, told_of_the_pump
from assistant.follow.told_after import told_after
from assistant.follow.turns import (
    LOG_TALK,
    Question,
    about_the_talk,
    after_a_sum,
    chosen,
    pattern,
    told,
    told_acts,
)
from assistant.hear import hear
from assistant.message import Heard
from assistant.numbers.said import said
from assistant.told.acts import act_named
from assistant.told.fed_told import fed_told
from assistant.told.put_right import put_right, time_just_told
from assistant.understand import Candidate, elsewhere, rank
from assistant.walk.guide_choice import asks_to_be_led, names_kit
from assistant.walk.guides import guide_turn

__all__ = ["CLEAR", "Question", "decide"]
SAYS = {"says_greet": ("greet", None), "says_remind": ("remind", None), "asks_of_air": ("caution", "air_in_line"),
        "says_happened": ("handoff", None)}

SURELY_OUTSIDE, NEXT = 0.93, 0.03  # ... unless the words are all ours, and a sum or a record comes next

_LOOKS = gather.names() | {"plan_lookup", "log_lookup", "timetable", "handoff", "contact"}  # what may be outside
NAMED = ("noon", "midday", "midnight", "one")  # a feed's name, or a word, whatever time or number it is as well
SURELY_NAMED = 0.97  # how surely a card of the same day is meant, to come before an entry of the log
REMINDED = ("remind", "done")  # the last reply set a reminder


def decide(
    text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...] = (), logged: tuple[str, ...] = ()
) -> Question:
    """The question a message asks, in the light of the conversation.

    `feeds`: the names of the plan's feeds; `logged`: the kinds of the log's entries, in order.
    """
    question = _by_the_words(text, heard, talk, feeds, logged)
    question = by_context(question, text, heard, talk, rank(text) or (Candidate("unclear", None, 1.0),), feeds)
    question = only_if_done(question, text)
    if question.name in OPEN and talk.guide is None and (alone := asked_alone(heard)) is not None:
        return Question(alone.intent, p=alone.p, carried=carried(text, heard, talk, alone))
    return question


def _by_the_words(
    text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...], logged: tuple[str, ...]
) -> Question:
    """What the words ask, and what the rules make of them after what was said before."""
    if moves := guide_turn(text, talk):
        return Question(moves)
    text = pattern("remind_of").sub("", text)
    if talk.guide is None and (takes_back := _takes_back(text, heard, talk)):
        return takes_back
    if (at_once := _for_the_team(text, heard, talk) or resumed_by_name(heard, talk, feeds)) is not None:
        return at_once
    ranked = of_what_ran(text, of_the_run(heard, logged) or what_it_may_ask(text, heard), logged)
    if (plainly := _plainly(text, heard, talk, ranked)) is not None:
        return plainly
    if talk.asks is None and (last := asked_last(text)) is not None:
        return Question(last, p=1.0)
    again = not asks_another(text, talk)  # the last sum may be meant, with another value
    turn = _turn(text, heard, talk, ranked, feeds, logged, again=again)
    if turn is not None:
        return turn
    if asks_to_be_led(text, surely=True):
        return Question("guide", choices=offered(ranked))
    if _names_trouble(ranked, text):
        return Question("caution", ranked[0].card, ranked[0].p)  # what was done beside it is written down as well
    entry = told(text, heard, logged) or fed_told(text, heard, feeds)
    if entry is not None and not only_answers(entry, heard, talk):
        return entry
    led = asks_to_be_led(text)  # "walk me through lunch" answers no "which feed?"
    if talk.asks is not None and talk.question and not led and answers(text, heard, talk, ranked, feeds):
        counts = one_of_a_pair(heard) if talk.code == "misheard" else None
        return Question(talk.question, carried=talk.slots, favours=talk.asks, follows=True, counts=counts)
    if (open_sum := still_open(text, heard, talk)) is not None:
        return open_sum
    if (back := resumed(heard, talk)) is not None:
        return back
    if talk.question and talk.asks is None and again and turns(text, heard, talk, ranked, feeds):
        kept = standing(text, heard, talk, feeds)
        return Question(talk.question, carried=kept, favours=meant_slot(heard, talk), follows=True)
    told_by_numbers = by_structure(heard, ranked, CLEAR)
    best = told_by_numbers or together(ranked)
    if _of_the_feed(best, text, heard) and (act := told_acts(text, heard, logged, alone=True)) is not None:
        return act  # which entry it is, the acts say better than the weights
    if not bears_out(best.card or best.intent, text, heard):
        return unsure(ranked) if best.intent not in ("rate_needed", "stop") else Question("unclear")
    doubted = told_by_numbers is None and not led and (best.intent == "out_of_scope" or not clear(best, ranked))
    if doubted and (look_up := of_the_plan_perhaps(text, heard, talk, ranked, feeds)) is not None:
        return look_up
    if told_by_numbers is None and (not clear(best, ranked) or (led and best.intent == "out_of_scope")):
        ours = not (ranked[0].intent == "out_of_scope" and ranked[0].p >= OUTSIDE) or names_kit(text)
        if led and ours:
            return Question("guide", choices=offered(ranked))
        if (act := told_acts(text, heard, logged, alone=True)) is not None:
            return act
        doubtful = unsure(ranked, _may_be_ours(text, ranked))
        one = Candidate(doubtful.name, None, doubtful.p)  # a sum all the same: what was said before still counts
        return replace(doubtful, carried=carried(text, heard, talk, one))
    if best.intent == "out_of_scope" and _may_be_ours(text, ranked):
        return unsure(ranked, ours=True)
    if best.intent == "remark" or (best.card is not None and card(best.card)["level"] in GRAVE):
        return unsure(ranked)  # of a danger: the danger station has heard the same words and raised no alarm
    if in_the_last_answer(heard, talk, best) and not named_feed(heard, feeds):
        name = best.intent if best.intent == "remaining" else str(talk.question)  # it gives the time as well
        return Question(name, p=best.p, carried=talk.slots, follows=True)
    return Question(best.intent, best.card, best.p, carried(text, heard, talk, best), choices=offered(ranked))


def _names_trouble(ranked: tuple[Candidate, ...], text: str) -> bool:
    """ "Tube's blocked solid. He finished at ten": what is wrong is asked about, whatever is told beside it."""
    top = ranked[0]
    named = top.card is not None and top.p >= SURELY_NAMED and card(top.card)["level"] == "same_day"
    return named and not pattern("to_be_logged").search(text)


def _turn(
    text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...], feeds: tuple[str, ...], logged: tuple[str, ...],
    *, again: bool,
) -> Question | None:
    """What only the talk so far makes clear: a choice, a value moved, something asked of the last answer."""
    return (
        chosen(text, talk) or told_of_the_pump(text, heard, talk) or time_just_told(text, heard, talk)
        or (again and (right_after(text, heard, talk, feeds)
                       or by_its_role(text, heard, talk, ranked, feeds, logged)
                       or by_its_kind(text, heard, talk, feeds)))
        or flush_done(text, heard, talk) or follows_on(text, heard, talk)
        or about_reminders(text, heard, talk)
        or is_of_the_plan(_plan_asked(text, heard, talk, feeds), text, ranked, logged, talk)
        or _of_the_log(text, heard, talk) or asks_for_the_next(text, talk, feeds)
        or settings_turn(text, heard, talk, feeds) or put_right(text, heard, talk, logged)
        or about_the_talk(text, heard, talk, ranked)
        or (again and (another_value(text, heard, talk, ranked, feeds, logged)
                       or told_after(text, heard, talk, ranked, feeds, logged)))
        or None
    )


def _plan_asked(text: str, heard: Heard, talk: Talk, feeds: tuple[str, ...]) -> Question | None:
    """A look-up of the plan, whatever is said beside it of which feed is meant ("it is the one at 72")."""
    asked = pattern("the_one_at").sub("", text)
    return of_the_plan(asked, heard if asked == text else hear(asked), talk, feeds)


def _plainly(text: str, heard: Heard, talk: Talk, ranked: tuple[Candidate, ...]) -> Question | None:
    """What is asked of the world outside, and "done when?"."""
    looks = next((c.intent for c in ranked[:3] if c.intent in _LOOKS), None)
    if talk.asks is None and looks is not None and asks_of_the_world(looks, text, heard):
        return Question("out_of_scope", p=1.0)
    if talk.guide is None and pattern("done_when").match(text):
        return Question("finish_at", carried=told_before(talk) if talk.question in gather.names() else {})
    return next((Question(*q) for name, q in SAYS.items() if talk.guide is None and pattern(name).match(text)), None)


def _for_the_team(text: str, heard: Heard, talk: Talk) -> Question | None:
    """A dose is never ours to say, nor which rate somebody is put on, nor what is left out; a word is explained."""
    if (of_a_word := term_asked(text, heard)) is not None:
        return Question("explain", favours=of_a_word)
    if pattern("asks_a_dose").search(text):
        return Question("out_of_scope", p=1.0)
    if talk.guide is None and pattern("asks_its_place").search(text):
        return Question("caution", "placement_check", 1.0)
    decides = team_decides(text, heard) if talk.asks is None else None
    return Question("caution", decides, 1.0) if decides is not None else None


def _of_the_feed(best: Candidate, text: str, heard: Heard) -> bool:
    """Does the likeliest tell of the feed: an entry, a remark on it, "lunch went fine"?"""
    told = best.intent in LOG_TALK or (best.intent == "remark" and bool(pattern("of_the_feed").search(text)))
    return told or (best.intent == "finish_at" and act_named(said(heard)) == "bolus")


def _of_the_log(text: str, heard: Heard, talk: Talk) -> Question | None:
    """A look into the log by all of its words; "noon meds" tells no time."""
    numbers = any(a.readings[0].kind not in ("day", "date") and a.text.lower() not in NAMED for a in heard.amounts)
    what = None if numbers or heard.unread or talk.guide is not None else of_the_log(text)
    return Question("log_lookup", favours=what) if what else None


def _takes_back(text: str, heard: Heard, talk: Talk) -> Question | None:
    """ "Undo the pause", "delete that flush": out of the log; a reminder named, or just set, is called off."""
    undoes, last = pattern("undoes").match(text), talk.last or {}
    if after_a_sum(talk) and heard.amounts:
        return None  # "take that back, it was ten to seven": a value of the sum
    if talk.wrote and talk.question in LOG_TALK and pattern("takes_away").search(text):
        return Question("undo")  # "is not true, take this away"
    if undoes and (pattern("reminder_named").search(text) or (last.get("intent"), last.get("outcome")) == REMINDED):
        return Question("cancel_reminder")
    of_reminders = talk.question in ("remind", "cancel_reminder")
    return Question("undo") if undoes or (not of_reminders and pattern("takes_out").match(text)) else None


def _may_be_ours(text: str, ranked: tuple[Candidate, ...]) -> bool:
    """Not quite surely outside, in words at home in talk of feeding, with a sum or a record next: choices, no "no"."""
    top, after = ranked[0], next((c for c in ranked if c.intent != "out_of_scope"), ranked[0])
    ours = after.intent in gather.names() or after.intent in LOG_TALK or after.intent in ("plan_lookup", "log_lookup")
    return top.p < SURELY_OUTSIDE and after.p >= NEXT and ours and not elsewhere(text)
